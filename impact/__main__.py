"""`python -m impact` is the console command `impact`."""

from impact.cli.main import main

if __name__ == "__main__":
    main()
