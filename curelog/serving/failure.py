"""The one way in which a start fails."""


class CannotStart(Exception):
    """The sentence for the person at the terminal: what is wrong and what to do."""
