"""``python -m ullage.cli``."""

from ullage.cli import main

main()
