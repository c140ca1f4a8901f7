"""What a start says when the workshop is open: where, under which addresses, and how the first account is made."""

from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.urls import reverse

from curelog import environment
from curelog.actions.people import invite
from curelog.models import Person
from curelog.serving import network, welcome
from curelog.serving.lan import Lan
from curelog.serving.welcome import Line

NOTICE = timedelta(days=180)
NO_WAY_IN = "no way in: no local network here, or --host shuts it out"


def told(lines: list[Line], host: str, port: int, lan: Lan | None, is_terminal: bool) -> str:
    here, phone = doors(host, port)
    secure = lan.phone_address() if lan else None
    lines = [*lines, ("On this machine", f"{here}/")]
    codes: list[Line] = []
    if lan and phone and secure:
        codes = [("1. Once for each phone", f"{phone}{reverse('trust')}"), ("2. From then on", f"{secure}/")]
        lines += [*codes, *identity(lan)]
    elif phone:
        codes = [("On the phone", f"{phone}/")]
        lines += codes
    else:
        lines += [("On the phone", NO_WAY_IN)]
    lines += first_account(secure or phone or here)
    drawn = "".join(f"\n\n{caption(codes, name)}{welcome.qr_code(url, is_terminal)}" for name, url in codes)
    return f"curelog is open. Ctrl-C closes it.\n\n{welcome.told(lines)}{drawn}\n"


def caption(codes: list[Line], name: str) -> str:
    return f"  {name}\n" if len(codes) > 1 else ""


def identity(lan: Lan) -> list[Line]:
    """To hold against what the page shows before a phone is made to trust it."""
    authority = lan.authority()
    words = f"{authority.name}, until {authority.certificate.not_valid_after_utc:%-d %B %Y}"
    if authority.is_ending(datetime.now(UTC), NOTICE):
        words += "; a month before that there is a new one, which each phone must trust again"
    return [
        ("Its authority", words),
        *zip(("SHA-256", "", "", ""), authority.fingerprint_lines(), strict=True),
    ]


def doors(host: str, port: int) -> tuple[str, str | None]:
    """The address on this machine and the one for a phone; behind a proxy's HTTPS both are the public name."""
    if settings.HTTPS:
        public = f"https://{environment.words('CURELOG_HOSTS')[0]}"
        return public, public
    return f"http://localhost:{port}", network.phone_address(host, port)


def first_account(door: str) -> list[Line]:
    if Person.objects.filter(role=Person.Role.OWNER).exists():
        return []
    _, token = invite(Person.Role.OWNER, by=None)
    link = f"{door}{reverse('join', args=[token])}"
    return [("First account", link), ("", "This link makes the owner's account, once, within 7 days.")]
