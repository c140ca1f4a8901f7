import pytest
from django.apps import apps

from curelog.exports import dictionary
from curelog.exports.kinds import KINDS, LEFT_OUT, NOT_TOLD, kind_name, told_fields, told_sets


def test_every_model_is_exported_or_left_out_on_purpose() -> None:
    models = {kind_name(model) for model in apps.get_app_config("curelog").get_models()}
    exported = {kind_name(model) for model in KINDS}
    assert models - exported - LEFT_OUT.keys() == set()
    assert not exported & LEFT_OUT.keys()


def test_parents_come_before_children() -> None:
    seen = set()
    for model in KINDS:
        seen.add(model)
        for field in [*told_fields(model), *told_sets(model)]:
            if field.remote_field:
                assert field.related_model in seen, f"{kind_name(model)}.{field.name}"


def test_no_secret_is_told() -> None:
    told = [f"{kind_name(model)}.{field.name}" for model in KINDS for field in told_fields(model)]
    suspicious = ("password", "token", "secret", "salt", "address", "keys")
    assert [name for name in told if name.split(".")[1] in suspicious] == []
    assert {"person.password", "person.session_salt", "roomsensor.token"} <= NOT_TOLD.keys()


@pytest.mark.parametrize("row", list(dictionary.rows()), ids=lambda row: f"{row[0]}.{row[1]}")
def test_every_field_has_a_type_and_a_meaning(row) -> None:
    _, _, kind, _, _, _, meaning = row
    assert kind
    assert meaning, "give the field a help_text, or a line in exports/meanings.py"


def test_units_come_from_the_names() -> None:
    units = {(row[0], row[1]): row[3] for row in dictionary.rows()}
    assert units["weighing", "weight_g"] == "g"
    assert units["cut", "bar_thickness_mm"] == "mm"
    assert units["batch", "lye_temperature_c"] == "°C"
    assert units["roomreading", "rh"] == units["workshop", "room_rh"] == "%"
    assert units["batch", "superfat"] == units["recipe", "naoh_purity"] == "fraction of 1"
    assert units["photo", "width"] == "px"
    assert units["ownfat", "iodine_value"] == "g iodine per 100 g"
    assert units["cut", "bar_count"] == units["loaf", "letter"] == ""
