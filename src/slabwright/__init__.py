"""Field notes of a concrete walk, patio or driveway in; a plan that a crew can build from out."""

__version__ = "0.1.0"
