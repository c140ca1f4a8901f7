"""The fats table against published ranges (fats_reference_ranges.csv, with source and "seen" per row)."""

import json
import math
from dataclasses import asdict

import pytest

from curelog.domain.fats import ACID_NAMES, Fat, UnknownFat, all_fats, find, own_fat
from tests.tables import rows

REFERENCE = rows("fats_reference_ranges.csv")
BY_KEY = {fat.key: fat for fat in all_fats()}
SHORTHAND = {
    "C6:0": "caproic",
    "C8:0": "caprylic",
    "C10:0": "capric",
    "C12:0": "lauric",
    "C14:0": "myristic",
    "C16:0": "palmitic",
    "C16:1": "palmitoleic",
    "C18:0": "stearic",
    "C18:1": "oleic",
    "ricinoleic": "ricinoleic",
    "C18:2": "linoleic",
    "C18:3": "linolenic",
    "C20:0": "arachidic",
    "C20:1": "gadoleic",
}


def published(fat: str, quantity: str) -> list[tuple[float, float]]:
    found = [
        row for row in REFERENCE if row["fat"] == fat and row["quantity"].removesuffix("_Wijs") == quantity
    ]
    return [(float(row["low"] or 0), float(row["high"] or math.inf)) for row in found]


FATS_IN_REFERENCE = sorted({row["fat"] for row in REFERENCE})


@pytest.mark.parametrize("key", FATS_IN_REFERENCE)
def test_every_fat_of_the_reference_can_be_found_by_its_name(key: str) -> None:
    assert find(key).key == key


@pytest.mark.parametrize("key", FATS_IN_REFERENCE)
@pytest.mark.parametrize("quantity", ["saponification_value", "iodine_value"])
def test_used_value_lies_in_a_published_range(key: str, quantity: str) -> None:
    value, ranges = getattr(BY_KEY[key], quantity), published(key, quantity)
    assert not ranges or any(low <= value <= high for low, high in ranges)


@pytest.mark.parametrize("key", FATS_IN_REFERENCE)
def test_range_kept_is_one_that_was_published(key: str) -> None:
    ranges = published(key, "saponification_value")
    assert not ranges or BY_KEY[key].saponification_range in ranges


@pytest.mark.parametrize("fat", all_fats(), ids=lambda fat: fat.key)
def test_the_careful_value_is_the_low_end(fat: Fat) -> None:
    assert fat.saponification_range is not None
    low, high = fat.saponification_range
    assert fat.saponification_value == low < high
    if fat.iodine_range:
        assert fat.iodine_value is not None
        assert fat.iodine_range[0] <= fat.iodine_value <= fat.iodine_range[1]


@pytest.mark.parametrize("fat", all_fats(), ids=lambda fat: fat.key)
def test_a_fat_can_be_kept_as_json(fat: Fat) -> None:
    kept = json.loads(json.dumps(asdict(fat), allow_nan=False))
    assert kept["fatty_acids"] == fat.fatty_acids


@pytest.mark.parametrize("fat", all_fats(), ids=lambda fat: fat.key)
def test_every_row_says_where_it_is_from(fat: Fat) -> None:
    parts = fat.source.split("; ")
    assert parts[0].startswith("saponification value: ")
    assert all("(seen" in part or "(from memory)" in part for part in parts)
    assert any("fatty acids" in part for part in parts) == bool(fat.fatty_acids)
    assert fat.inci


@pytest.mark.parametrize("fat", [fat for fat in all_fats() if fat.fatty_acids], ids=lambda fat: fat.key)
def test_profile_is_whole_and_near_the_published_ranges(fat: Fat) -> None:
    assert sum(fat.fatty_acids.values()) == pytest.approx(1)
    assert fat.fatty_acids.keys() <= ACID_NAMES.keys()
    for shorthand, acid in SHORTHAND.items():
        ranges = published(fat.key, shorthand)
        if ranges and acid in fat.fatty_acids:
            percent = 100 * fat.fatty_acids[acid]
            # Middles of ranges add to 97 to 115 %: scaled to 100 they move by that much.
            assert any(low * 0.85 <= percent <= high * 1.03 + 0.05 for low, high in ranges), (acid, percent)


def test_only_waxes_and_hydrogenated_castor_lack_a_profile() -> None:
    without = {fat.key for fat in all_fats() if not fat.fatty_acids}
    assert without == {fat.key for fat in all_fats() if fat.is_wax} | {"hydrogenated_castor"}


def test_table_is_long_enough_and_has_what_makers_use() -> None:
    assert len(BY_KEY) >= 40
    for name in [
        "almond",
        "hempseed",
        "jojoba",
        "mango_butter",
        "kokum_butter",
        "apricot_kernel",
        "beeswax",
        "stearic_acid",
    ]:
        assert find(name).name


@pytest.mark.parametrize(
    ("name", "key"),
    [
        ("Cocoa Butter", "cocoa_butter"),
        (" LARD ", "lard"),
        ("palm-kernel", "palm_kernel"),
        ("olive oil", "olive"),
        ("canola", "rapeseed_low_erucic"),
        ("sweet almond oil", "almond"),
        ("shea butter", "shea"),
    ],
)
def test_spaces_case_and_usual_names_are_forgiven(name: str, key: str) -> None:
    assert find(name).key == key


def test_an_unknown_fat_is_named_with_what_is_near() -> None:
    with pytest.raises(UnknownFat, match=r"'coconutt'.*coconut"):
        find("coconutt")


def test_own_fat_takes_the_makers_values() -> None:
    fat = own_fat("My lard", 196.5, fatty_acids={"palmitic": 0.3, "oleic": 0.65})
    assert (fat.key, fat.saponification_value, fat.is_own) == ("my_lard", 196.5, True)
    assert sum(fat.fatty_acids.values()) == pytest.approx(1)
    # Cd 1c-85: only oleic acid counts, 65 of 95 parts at 0.860.
    assert fat.iodine_value == pytest.approx(100 * 0.65 / 0.95 * 0.860)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"saponification_value": math.nan}, "saponification value"),
        ({"saponification_value": 0.134}, "saponification value"),
        ({"iodine_value": -1.0}, "iodine value"),
        ({"fatty_acids": {"oleic": 0.5}}, "add to 1"),
        ({"fatty_acids": {"oleyic": 1.0}}, "no fatty acid"),
        ({"fatty_acids": {"oleic": 1.5}}, "share of oleic"),
        ({"name": " "}, "name"),
    ],
)
def test_own_fat_refuses_what_cannot_be(values: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        own_fat(**({"name": "mine", "saponification_value": 190.0} | values))  # type: ignore[arg-type]
