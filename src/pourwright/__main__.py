"""``python -m pourwright`` is the command ``pourwright``."""

from pourwright.doors.cli.main import main

if __name__ == "__main__":
    main()
