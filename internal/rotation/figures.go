package rotation

// Weights of the figures when a search decides whether to accept a worse roster for a while. They come from the trial of the method,
// are never reported, and the figure itself decides what is best.
var weights = [5]float64{200_000, 10_000, 2_500, 1, 0.3}

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
	return weights[0]*float64(r.crewDays) + weights[1]*float64(r.lapsed) + weights[2]*float64(r.cost)/r.g.costUnit +
		weights[3]*float64(r.minutes) + weights[4]*float64(r.offAim)
}
