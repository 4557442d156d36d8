"""``python -m sprayadvisor``."""

from sprayadvisor.cli import main

if __name__ == "__main__":
    main()
