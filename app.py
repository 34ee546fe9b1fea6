"""The front end: `streamlit run app.py`, or `linesim app`."""

from linesim.show.app.main import main

if __name__ == "__main__":  # workers that are spawned import this file, and draw no page
    main()
