"""The register of every field that may be kept, and what an approval lets through."""
