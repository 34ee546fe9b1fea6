"""The front end: one page for each question, each a memo whose first sentence is the answer."""
