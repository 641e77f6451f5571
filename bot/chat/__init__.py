"""Surfaces: the port, and the adapters, which never import each other."""
