"""Everything a workshop has told, in files that any other program can read, and back again."""
