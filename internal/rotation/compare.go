package rotation

import "groundhand/internal/groundhand"

// Difference is what a plan changes against another one, as when a yard closes or one more kit is there. The problems may differ; workers,
// crews and tickets are matched by id.
type Difference struct {
	Before, After Objective
	By            Objective  // After less Before
	Away          Away       // all crews, and those without a crew, together
	Crews         []CrewAway // crews whose minutes are not zero both times, by crew
	Moved         []Moved    // renewals on another slot, or only in one of the plans; by worker, qualification and device
	Lapses        []LapseChange
	// SafeAgain is the first day from which on everybody who lapses only in the second plan, or longer than in the first, is current again;
	// zero when nobody does, or when somebody is not current again within the window (see LapseChange.CurrentAgain).
	SafeAgain groundhand.Date
}

// Away is working time spent on drills, in minutes.
type Away struct{ Before, After int }

// CrewAway is the working time that a crew spends on drills, with the visit minutes. Crew is empty for those without a crew.
type CrewAway struct {
	Crew string
	Away
}

// Moved is a renewal that two plans place differently. A slot is empty where the plan does not renew the ticket.
type Moved struct {
	Worker, Qualification, Device string
	From, To                      string // slots
	FromDay, ToDay                groundhand.Date
}

// LapseChange is a ticket with another number of lapsed worked days. CurrentAgain is the first day after the lapse on which it is current
// in the second plan; zero when it is not lapsed there, or stays so to the end of the window.
type LapseChange struct {
	Worker, Qualification, Device string
	Before, After                 int
	CurrentAgain                  groundhand.Date
}

// Newly says that the ticket lapses only in the second plan.
func (l LapseChange) Newly() bool { return l.Before == 0 && l.After > 0 }

// NoLonger says that the ticket lapses only in the first plan.
func (l LapseChange) NoLonger() bool { return l.Before > 0 && l.After == 0 }
