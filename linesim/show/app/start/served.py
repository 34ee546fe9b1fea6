"""The script that `linesim app` serves: the same as `app.py` of the project, where only the package is installed."""

from linesim.show.app.main import main

if __name__ == "__main__":
    main()
