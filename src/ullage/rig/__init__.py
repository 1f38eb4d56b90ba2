"""The rig: what the text file describes, read into frozen parts and checked."""
