"""`python -m tarebook`."""

from tarebook.cli import main

if __name__ == "__main__":
    main()
