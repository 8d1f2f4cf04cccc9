package rollcall

import (
	"groundhand/internal/groundhand"
)

// Cluster is the largest number of tickets of one crew and qualification that lapse close together.
type Cluster struct {
	Crew, Qualification string
	OneDay              Heap // on one day
	SixWeeks            Heap // in any 42 days
}

// Heap is tickets that lapse from one last valid day to another, both included. Of equal ones the earliest is given.
type Heap struct {
	Tickets  int
	From, To groundhand.Date // last valid days; zero when no ticket lapses
	Workers  []string        // whose tickets they are, sorted, each once
}

// Clusters are those of a problem as it stands, if nobody renews anything, and after a plan, if nobody renews anything after it. Both look
// from the start of the window to a year past its end, and are sorted by crew and qualification.
type ClustersOf struct {
	Before, After []Cluster
}
