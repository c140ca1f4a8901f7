"""One file that holds a whole workshop, and the way back from it."""


class BackupError(Exception):
    """The sentence for the person at the terminal: what is wrong and what to do."""
