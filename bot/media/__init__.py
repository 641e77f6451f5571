"""Bytes from values, off the event loop: sounds, pictures, their cache and the worker."""
