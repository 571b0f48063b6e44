"""One drawing model and one table model; pages, files and packets."""
