"""The continuous plant: hydraulics, valves, pumps, senders, links, and the catalogue of faults."""
