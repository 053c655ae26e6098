"""The register of jaws that exist: what is cut in each side, where they lie, and which fit a job."""
