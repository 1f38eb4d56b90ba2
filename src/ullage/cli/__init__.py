"""The commands, one file per verb."""
