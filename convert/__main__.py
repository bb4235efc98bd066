"""`python -m convert` is the same program as `piecewright`."""

from convert.cli import main

if __name__ == "__main__":
    main()
