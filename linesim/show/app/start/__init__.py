"""What `linesim app` serves, with its settings.

In a folder of its own: a folder `pages` beside the script, Streamlit would take for pages to serve by itself, and the
first visit to a server would open those.
"""
