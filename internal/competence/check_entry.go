package competence

import "slices"

// checkEntries checks each entry by itself and then what the entries say of each other.
func checkEntries(entries []Entry) (map[string]int32, error) {
	byID := make(map[string]int32, len(entries))
	for i := range entries {
		e := &entries[i]
		if _, twice := byID[e.ID]; twice || e.ID == "" {
			return nil, faultOf(e, "Each entry needs an id of its own.")
		}
		byID[e.ID] = int32(i)
		if err := checkEntry(e); err != nil {
			return nil, err
		}
	}
	for i := range entries {
		if err := checkNames(entries, byID, &entries[i]); err != nil {
			return nil, err
		}
	}
	return byID, nil
}

// faultOf is a fault of an entry.
func faultOf(e *Entry, format string, args ...any) error {
	return fault("entry "+e.ID, format, args...)
}

func checkEntry(e *Entry) error {
	switch {
	case e.RecordedAt.IsZero() || e.Author == "":
		return faultOf(e, "The author or the moment it was recorded is missing.")
	case e.Kind == Withdrawal && e.Withdraws == "":
		return faultOf(e, "It does not say what it withdraws.")
	case e.Kind == Withdrawal:
		return nil
	case e.Person == "":
		return faultOf(e, "The person is missing.")
	case e.HappenedOn.IsZero() == e.HappenedAt.IsZero():
		return faultOf(e, "It must have happened either on a day or at an instant.")
	}
	return checkKind(e)
}

func checkKind(e *Entry) error {
	switch e.Kind {
	case Run, Assessment, Outside, Suspension:
		return checkTask(e)
	case Extension, Provisional:
		if err := checkTask(e); err != nil {
			return err
		}
		return checkPeriod(e)
	case Away, Authority:
		return checkPeriod(e)
	case Grade:
		return checkGrade(e)
	case Lifting:
		return nil
	}
	return faultOf(e, "The kind %q is not known.", e.Kind)
}

func checkTask(e *Entry) error {
	mayLackRole := e.Kind == Suspension || e.Kind == Extension
	noPart := e.Role == RoleCasualty || e.Role == RoleObserver
	switch {
	case e.Method == "":
		return faultOf(e, "The method is missing.")
	case !playsPart(e.Role) && !(e.Role == "" && mayLackRole) && !(noPart && e.Kind == Run):
		return faultOf(e, "The role %q is not a role of an entry of kind %s.", e.Role, e.Kind)
	case e.isCriticalRun() && noPart:
		return faultOf(e, "A casualty or an observer cannot fail critically.")
	case e.Kind == Assessment && e.Result != ResultPass && e.Result != ResultFail && e.Result != ResultNotCompleted:
		return faultOf(e, "The result %q is not one of pass, fail and not_completed.", e.Result)
	case e.Kind == Outside && !slices.Contains(levels, e.Level):
		return faultOf(e, "The level %q is not a level of outside evidence.", e.Level)
	}
	return nil
}

func checkPeriod(e *Entry) error {
	if e.From.IsZero() {
		return faultOf(e, "The first day is missing.")
	}
	if !e.To.IsZero() && e.To < e.From {
		return faultOf(e, "It ends before it starts.")
	}
	return nil
}

// checkGrade wants the year of an apprentice: without it nobody could say whether a line bars it.
func checkGrade(e *Entry) error {
	switch {
	case e.Grade == GradeQualified:
		return nil
	case e.Grade != GradeApprentice:
		return faultOf(e, "The grade %q is not one of qualified and apprentice.", e.Grade)
	case e.Year < 1:
		return faultOf(e, "The year of the apprentice is missing.")
	}
	return nil
}

// checkNames checks the entries that an entry names: they are there, and were recorded before it.
func checkNames(entries []Entry, byID map[string]int32, e *Entry) error {
	if e.Kind == Lifting {
		for _, id := range []string{e.Lifts, e.ByPass} {
			at, there := byID[id]
			if !there {
				return faultOf(e, "It names %q, which is not here.", id)
			}
			if entries[at].RecordedAt > e.RecordedAt {
				return faultOf(e, "It was recorded before %s, which it names.", id)
			}
		}
	}
	id := e.names()
	if id == "" {
		return nil
	}
	at, there := byID[id]
	switch {
	case !there:
		return faultOf(e, "It names %q, which is not here.", id)
	case e.RecordedAt <= entries[at].RecordedAt:
		return faultOf(e, "It was not recorded after %s, which it names.", id)
	case e.Kind != Withdrawal && entries[at].Kind == Withdrawal:
		return faultOf(e, "It corrects %s, which is a withdrawal; withdraw that instead.", id)
	}
	return nil
}
