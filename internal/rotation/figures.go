package rotation

// profile weighs the figures, all but the busiest instructor, when a search decides whether to accept a worse roster for a while. The weights are never reported, and the
// figures themselves decide what is best.
type profile [5]float64

// profiles: the first comes from the trial of the method and trades the figures freely; the others keep more and more to their order, so
// that a search finds what costs many minutes to save one session.
var profiles = []profile{
	{200_000, 10_000, 2_500, 1, 0.3},
	{400_000, 20_000, 10_000, 1, 0.1},
	{1_000_000, 50_000, 20_000, 1, 0.02},
}

// figures are the exact figures of the roster.
func (r *roster) figures() Objective {
	busiest := 0
	for _, slots := range r.led {
		busiest = max(busiest, len(slots))
	}
	return Objective{r.crewDays, r.lapsed, r.cost, r.minutes, r.offAim, busiest}
}

// score is the weighted sum; smaller is better.
func (r *roster) score() float64 {
	w := &r.profile
	return w[0]*float64(r.crewDays) + w[1]*float64(r.lapsed) + w[2]*float64(r.cost)/r.g.costUnit +
		w[3]*float64(r.minutes) + w[4]*float64(r.offAim) + r.perChange()*float64(r.changes)
}

// perChange is what a renewal that is elsewhere than in an older plan adds to the score: more than a session.
func (r *roster) perChange() float64 { return 2 * r.profile[2] }
