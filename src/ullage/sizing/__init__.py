"""Design figures of a rig: flows, margins, pressures, weights and times, each with its source."""
