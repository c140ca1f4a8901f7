"""The steps of a start. Nothing is made before the port is known to be free."""

import os
import sys
from pathlib import Path
from typing import TextIO

from django.conf import settings

from curelog import environment
from curelog.demo import photographs
from curelog.demo.building import build
from curelog.serving import database, folder, greeting, lan, network, server, static, welcome

# A demo never touches the real workshop's database, sends no mail, and is plain HTTP.
DEMO_ENVIRONMENT = {"CURELOG_DATABASE_URL": "", "CURELOG_MAIL_HOST": "", "CURELOG_HTTPS": ""}


def start(host: str, port: int, is_demo: bool, is_lan: bool, out: TextIO) -> None:
    lan_port = lan.port_beside(port) if is_lan else None
    for wanted in (port, lan_port):
        if wanted:
            network.claim(host, wanted)
    data = folder.demo_folder(settings.DATA_DIR) if is_demo else settings.DATA_DIR
    (folder.open_demo_folder if is_demo else folder.open_folder)(data)
    settle(environment_for(data, host, is_demo, lan_port), folder.make_key(data))
    with folder.held(data):
        house = lan.Lan(data, host, lan_port) if lan_port else None
        if house:
            house.renew()
        lines = [("Data folder", str(data))]
        lines += open_demo(data) if is_demo else open_workshop()
        print(greeting.told(lines, host, port, house, out.isatty()), file=out, flush=True)
        server.serve(host, port, house)


def environment_for(data: Path, host: str, is_demo: bool, lan_port: int | None) -> dict[str, str]:
    hosts = network.answered_hosts(host, environment.words("CURELOG_HOSTS"))
    told = {"CURELOG_DATA": str(data), "CURELOG_HOSTS": ",".join(hosts)}
    told["CURELOG_LAN_PORT"] = str(lan_port or "")
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
