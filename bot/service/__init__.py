"""The shell around the pure rules: load, apply, save, perform. One file per use case."""
