"""The tests: a package of this name, because a library in the test environment brings another `tests`."""
