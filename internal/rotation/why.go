package rotation

import "groundhand/internal/groundhand"

// Choice is where a ticket is renewed, and where else it could be.
type Choice struct {
	Worker, Qualification, Device string
	Slot                          string // empty: it is not renewed
	On                            groundhand.Date
	DaysLapsed                    int           // worked days on which it is not current
	Reason                        Reason        // for a ticket that is due and not renewed; else empty
	Others                        []Alternative // every other eligible slot: those that are possible first, best first; then the rest by day
}

// Alternative is another slot for a renewal, when it alone is moved there. Either a rule fails, or some figures change.
type Alternative struct {
	Slot    string
	On      groundhand.Date
	Rule    string         // the first hard rule that fails, F7 to F14, or StaggerRule; empty: the move is possible
	Changes []FigureChange // in the order of the levels; only those that change
}

// FigureChange is a figure of LevelNames and how much larger it becomes; smaller is better.
type FigureChange struct {
	Level string
	By    int
}

// StaggerRule stands in an Alternative for the limit of renewals of one crew and qualification in a number of days.
const StaggerRule = "stagger"
