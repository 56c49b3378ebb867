"""``python -m finsolar`` is the command too."""

from finsolar.cli import main

if __name__ == "__main__":
    main()
