"""Tests of the floor of one run."""
