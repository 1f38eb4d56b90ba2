"""A day in the life of a rig: scenario, plant and control step together, seeded and repeatable."""
