"""Water in pipes: friction, fittings, tanks, vents, and the network solver."""
