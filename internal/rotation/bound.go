package rotation

func (g *grid) bound(lapsed int) Objective { return Objective{} }
