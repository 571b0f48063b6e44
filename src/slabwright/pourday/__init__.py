"""Weather -> slab heat -> set -> working windows -> crew and trucks -> cure, strip, open."""
