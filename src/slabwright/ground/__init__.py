"""What is there: ground surface, walls, doors, existing slabs."""
