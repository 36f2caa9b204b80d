"""A kit or a build as one documented file, out and in again (server/ARCHIVE.md)."""
