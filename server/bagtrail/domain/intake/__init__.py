"""Getting a kit in: tables, pasted text and manuals become findings, and findings become a kit."""
