"""What a browser would send from the recipe form."""

from uuid import uuid4


def recipe_post(**changed: object) -> dict[str, str]:
    """700 g lard and 300 g coconut; a value of None leaves the field out."""
    post = {
        "family": uuid4(),
        "name": "Winter bar",
        "kind": "mixed",
        "by": "mass",
        "fat_rows": 6,
        "fat_1": "lard",
        "amount_1": "700",
        "fat_2": "coconut",
        "amount_2": "300",
        "superfat": "5",
        "alkali": "naoh",
        "naoh_purity": "100",
        "koh_purity": "90",
        "water_mode": "lye_concentration",
        "water_value": "33",
        "least_cure_days": "28",
        "bar_thickness_mm": "25",
        "additive_rows": 2,
    } | changed
    return {name: str(value) for name, value in post.items() if value is not None}
