"""Tape pulls and rod readings to points and heights, with their uncertainty."""
