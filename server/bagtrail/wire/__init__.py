"""The wire: every field name, length and format that crosses between server and client."""
