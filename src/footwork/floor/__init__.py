"""Shapes, walls, free floor and the shortest ways over it; imports the model alone."""
