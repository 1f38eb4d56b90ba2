"""Proof and simulation put together: concrete stories of a harm, what they come to, and how they are kept."""
