"""Electricity of a rig: wires, fuses, starts at low battery, how long batteries last."""
