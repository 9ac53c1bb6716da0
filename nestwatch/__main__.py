"""`python -m nestwatch` is the same as `nestwatch`."""

from nestwatch.commands.main import main

if __name__ == "__main__":
    main(prog_name="nestwatch")
