"""Lets `python -m slowfire` do what the command `slowfire` does."""

from slowfire.cli import main

if __name__ == "__main__":
    main()
