"""``python -m ullage.cli``."""

from ullage.cli import main

if __name__ == "__main__":  # a process that helps with a proof reads this file as well
    main()
