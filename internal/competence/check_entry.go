package competence

import "slices"

// checkEntries checks each entry by itself and then what the entries say of each other.
func checkEntries(entries []Entry) (map[string]int32, error) {
	byID := make(map[string]int32, len(entries))
	for i := range entries {
		e := &entries[i]
		if _, twice := byID[e.ID]; twice || e.ID == "" {
			return nil, fault("entry "+e.ID, "Each entry needs an id of its own.")
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

func checkEntry(e *Entry) error {
	where := "entry " + e.ID
	switch {
	case e.RecordedAt.IsZero() || e.Author == "":
		return fault(where, "The author or the moment it was recorded is missing.")
	case e.Kind == Withdrawal && e.Withdraws == "":
		return fault(where, "It does not say what it withdraws.")
	case e.Kind == Withdrawal:
		return nil
	case e.Person == "":
		return fault(where, "The person is missing.")
	case e.HappenedOn.IsZero() == e.HappenedAt.IsZero():
		return fault(where, "It must have happened either on a day or at an instant.")
	}
	return checkKind(where, e)
}

func checkKind(where string, e *Entry) error {
	switch e.Kind {
	case Run, Assessment, Outside, Suspension:
		return checkTask(where, e)
	case Extension, Provisional:
		if err := checkTask(where, e); err != nil {
			return err
		}
		return checkPeriod(where, e)
	case Away, Authority:
		return checkPeriod(where, e)
	case Grade:
		return checkGrade(where, e)
	case Lifting:
		return nil
	}
	return fault(where, "The kind %q is not known.", e.Kind)
}

func checkTask(where string, e *Entry) error {
	mayLackRole := e.Kind == Suspension || e.Kind == Extension
	noPart := e.Role == RoleCasualty || e.Role == RoleObserver
	switch {
	case e.Method == "":
		return fault(where, "The method is missing.")
	case !playsPart(e.Role) && !(e.Role == "" && mayLackRole) && !(noPart && e.Kind == Run):
		return fault(where, "The role %q is not a role of an entry of kind %s.", e.Role, e.Kind)
	case e.isCriticalRun() && noPart:
		return fault(where, "A casualty or an observer cannot fail critically.")
	case e.Kind == Assessment && e.Result != ResultPass && e.Result != ResultFail && e.Result != ResultNotCompleted:
		return fault(where, "The result %q is not one of pass, fail and not_completed.", e.Result)
	case e.Kind == Outside && !slices.Contains(levels, e.Level):
		return fault(where, "The level %q is not a level of outside evidence.", e.Level)
	}
	return nil
}

func checkPeriod(where string, e *Entry) error {
	if e.From.IsZero() {
		return fault(where, "The first day is missing.")
	}
	if !e.To.IsZero() && e.To < e.From {
		return fault(where, "It ends before it starts.")
	}
	return nil
}

// checkGrade wants the year of an apprentice: without it nobody could say whether a line bars it.
func checkGrade(where string, e *Entry) error {
	switch {
	case e.Grade == GradeQualified:
		return nil
	case e.Grade != GradeApprentice:
		return fault(where, "The grade %q is not one of qualified and apprentice.", e.Grade)
	case e.Year < 1:
		return fault(where, "The year of the apprentice is missing.")
	}
	return nil
}

// checkNames checks the entries that an entry names: they are there, and were recorded before it.
func checkNames(entries []Entry, byID map[string]int32, e *Entry) error {
	where := "entry " + e.ID
	if e.Kind == Lifting {
		for _, id := range []string{e.Lifts, e.ByPass} {
			at, there := byID[id]
			if !there {
				return fault(where, "It names %q, which is not here.", id)
			}
			if entries[at].RecordedAt > e.RecordedAt {
				return fault(where, "It was recorded before %s, which it names.", id)
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
		return fault(where, "It names %q, which is not here.", id)
	case e.RecordedAt <= entries[at].RecordedAt:
		return fault(where, "It was not recorded after %s, which it names.", id)
	case e.Kind != Withdrawal && entries[at].Kind == Withdrawal:
		return fault(where, "It corrects %s, which is a withdrawal; withdraw that instead.", id)
	}
	return nil
}
