"""`python -m profilegen`, the same as the `profilegen` command."""

from profilegen.cli import main

if __name__ == "__main__":
    main()
