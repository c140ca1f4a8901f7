from curelog.serving import welcome


def test_lines_stand_in_two_columns() -> None:
    assert welcome.told([("Data folder", "/srv"), ("", "more")]) == "  Data folder  /srv\n               more"


def test_the_code_is_a_square_with_a_quiet_border() -> None:
    rows = welcome.qr_code("http://192.168.7.9:8000/", is_terminal=False).splitlines()
    # Version 2 has 25 modules a side (ISO/IEC 18004), two more of border on each; two rows to a line.
    assert {len(row.strip()) for row in rows} == {29}
    assert len(rows) == 15


def test_on_a_terminal_it_brings_its_own_colours() -> None:
    rows = welcome.qr_code("http://192.168.7.9:8000/", is_terminal=True).splitlines()
    assert all(row.startswith("  \033[97;40m") and row.endswith("\033[0m") for row in rows)
