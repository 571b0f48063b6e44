"""`python -m slabwright` is the same as `slabwright`."""

from slabwright.cli import main

if __name__ == "__main__":
    main()
