"""The law: sequences, interlocks and outputs as flat integer tables, and the one step over them."""
