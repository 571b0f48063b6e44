"""What is wanted: outline, joints, panels, heights, drainage, thickness, steel."""
