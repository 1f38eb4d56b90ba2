"""ullage: the water of a home that moves, from one text file: laid out, checked, simulated and run.

The floors, lowest first: `quantities`, `findings`, `kernels`, `rig`, `hydraulics`, `sizing`,
`control`, `plant`, `simulate`, `report`, `cli`. Imports only go down.
"""
