"""Taking in what was told elsewhere: an own export as a whole, or a spreadsheet's weights, loaves and readings."""


class ImportRefused(Exception):
    """The sentence for the person: what is wrong and what to do. Nothing was taken in."""
