package rotation

func placePins(g *grid) (*roster, error) { return newRoster(g), nil }
