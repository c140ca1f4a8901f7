"""The demo's photos. A few pictures serve many loaves: the demo opens within seconds."""

import io
import signal
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from multiprocessing import get_context

from PIL import Image

from curelog import photos
from curelog.demo_pictures import cut_face, whole_loaf

WIDTH_PX, HEIGHT_PX = 720, 540
face = partial(cut_face, width=WIDTH_PX, height=HEIGHT_PX)

LOAF = "loaf"
LOOKS: Mapping[str, Callable[[], Image.Image]] = {
    "cream": partial(face, 11, ring="full", specks=0.1),
    "crumbled": partial(face, 12, base_colour=(236, 229, 214), ring="full", crumbled=0.9),
    "clay": partial(face, 13, base_colour=(150, 163, 128), swirl=(214, 207, 180), ring="partial"),
    "white": partial(face, 14, base_colour=(238, 233, 222)),
    "salt": partial(face, 15, base_colour=(232, 232, 230), specks=0.8),
    "milk": partial(face, 16, base_colour=(212, 180, 138), specks=0.3),
    "ash": partial(face, 17, ring="full", ash=0.8),
    "olive": partial(face, 18, base_colour=(220, 214, 176)),
    "rivers": partial(face, 19, base_colour=(212, 180, 138), rivers=0.8),
    "lye": partial(face, 20, ring="partial", specks=0.6),
    LOAF: partial(whole_loaf, 21, ash=0.2, width=WIDTH_PX, height=HEIGHT_PX),
}


def taken(draw: Callable[[], Image.Image]) -> photos.TakenPhoto:
    """By the same way as a phone's photo."""
    sent = io.BytesIO()
    draw().save(sent, "JPEG", quality=90)
    return photos.take_in(sent)


@contextmanager
def drawn_beside() -> Iterator[dict[str, Future[photos.TakenPhoto]]]:
    """All pictures, drawn by a process of its own while the facts are told. Ctrl-C is for the parent."""
    hear_nothing = partial(signal.signal, signal.SIGINT, signal.SIG_IGN)
    with ProcessPoolExecutor(1, get_context("spawn"), hear_nothing) as pool:
        try:
            yield {name: pool.submit(taken, draw) for name, draw in LOOKS.items()}
        finally:
            pool.shutdown(cancel_futures=True)
