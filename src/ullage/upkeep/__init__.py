"""Upkeep: disinfecting, emptying before frost, and what is due when, worked out from the rig itself."""
