"""Small real classes that stand in for the outside: clock, surface, renderer."""
