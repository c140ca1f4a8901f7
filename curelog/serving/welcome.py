"""What stands on the terminal when the workshop is open."""

import io
from collections.abc import Sequence

import segno

Line = tuple[str, str]
# Most readers want dark on light, whatever colours the terminal has.
WHITE_ON_BLACK, PLAIN = "\033[97;40m", "\033[0m"


def told(lines: Sequence[Line]) -> str:
    width = max(len(name) for name, _ in lines)
    return "\n".join(f"  {name:<{width}}  {words}" for name, words in lines)


def qr_code(address: str, is_terminal: bool) -> str:
    """For the phone's camera: modules drawn as half blocks, two rows to a line."""
    out = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out, border=2, compact=True)
    start, end = (WHITE_ON_BLACK, PLAIN) if is_terminal else ("", "")
    return "\n".join(f"  {start}{row}{end}" for row in out.getvalue().splitlines())
