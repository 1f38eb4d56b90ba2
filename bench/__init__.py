"""Speed figures, each beside its goal: every module here has a ``main()`` and runs alone.

``./run bench`` runs them one after another; ``./run bench solver`` runs one.
"""
