"""The floor picture that moves: one run as a sequence of changes, and the part of the page that shows them."""
