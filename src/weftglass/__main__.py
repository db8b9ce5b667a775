"""`python -m weftglass`: the command line."""

from weftglass.cli.main import main

if __name__ == "__main__":
    main()
