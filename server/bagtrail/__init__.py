"""Bagtrail: the server of a workshop that builds kits of large radio-controlled vehicles."""
