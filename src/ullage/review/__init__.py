"""The design review: what the figures of a rig come to, judged against limits with their sources."""
