"""The steps of a start. Nothing is made before the port is known to be free."""

import os
import sys
from pathlib import Path
from typing import TextIO

from django.conf import settings
from django.urls import reverse

from curelog import environment
from curelog.actions.people import invite
from curelog.demo import photographs
from curelog.demo.building import build
from curelog.models import Person
from curelog.serving import database, folder, network, server, static, welcome

# A demo never touches the real workshop's database, sends no mail, and is plain HTTP.
DEMO_ENVIRONMENT = {"CURELOG_DATABASE_URL": "", "CURELOG_MAIL_HOST": "", "CURELOG_HTTPS": ""}


def start(host: str, port: int, is_demo: bool, out: TextIO) -> None:
    network.claim(host, port)
    data = folder.demo_folder(settings.DATA_DIR) if is_demo else settings.DATA_DIR
    (folder.open_demo_folder if is_demo else folder.open_folder)(data)
    settle(environment_for(data, host, is_demo), folder.make_key(data))
    with folder.held(data):
        lines = [("Data folder", str(data))]
        lines += open_demo(data) if is_demo else open_workshop()
        print(greeting(lines, host, port, out.isatty()), file=out, flush=True)
        server.serve(host, port)


def environment_for(data: Path, host: str, is_demo: bool) -> dict[str, str]:
    hosts = network.answered_hosts(host, environment.words("CURELOG_HOSTS"))
    told = {"CURELOG_DATA": str(data), "CURELOG_HOSTS": ",".join(hosts)}
    return told | (DEMO_ENVIRONMENT if is_demo else {})


def settle(wanted: dict[str, str], is_key_new: bool) -> None:
    """Settings are read once, before this command is known: put their sources in order, then begin again."""
    if is_key_new or any(os.environ.get(name) != value for name, value in wanted.items()):
        os.environ.update(wanted)
        sys.stdout.flush()
        os.execv(sys.executable, [sys.executable, *sys.orig_argv[1:]])


def open_workshop() -> list[welcome.Line]:
    copy = database.bring_up_to_date()
    static.collect()
    return [("Older database", f"updated; as it was: {copy}")] if copy else []


def open_demo(data: Path) -> list[welcome.Line]:
    folder.wipe_demo(data)
    with photographs.drawn_beside() as pictures:
        database.hurry()
        open_workshop()
        people = build(pictures)
    return [("Sign in as", f"{who.username}, password {who.password} ({who.role})") for who in people]


def greeting(lines: list[welcome.Line], host: str, port: int, is_terminal: bool) -> str:
    here, phone = doors(host, port)
    lines += [("On this machine", f"{here}/")]
    lines += [
        ("On the phone", f"{phone}/" if phone else "no way in: no local network here, or --host shuts it out")
    ]
    lines += first_account(phone or here)
    code = f"\n\n{welcome.qr_code(f'{phone}/', is_terminal)}" if phone else ""
    return f"curelog is open. Ctrl-C closes it.\n\n{welcome.told(lines)}{code}\n"


def doors(host: str, port: int) -> tuple[str, str | None]:
    """The address on this machine and the one for a phone; behind HTTPS both are the public name."""
    if settings.HTTPS:
        public = f"https://{environment.words('CURELOG_HOSTS')[0]}"
        return public, public
    return f"http://localhost:{port}", network.phone_address(host, port)


def first_account(door: str) -> list[welcome.Line]:
    if Person.objects.filter(role=Person.Role.OWNER).exists():
        return []
    _, token = invite(Person.Role.OWNER, by=None)
    link = f"{door}{reverse('join', args=[token])}"
    return [("First account", link), ("", "This link makes the owner's account, once, within 7 days.")]
