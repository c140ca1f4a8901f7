import pytest
from cryptography import x509

from curelog.serving import house

LIMITS = house.constraints(["shed", "workshop.example", "203.0.113.7", "192.168.7.9"])


@pytest.mark.parametrize(
    "host",
    [
        *(
            "localhost",
            "shed",
            "shed.local",
            "soap.home.arpa",
            "soap.lan",
            "soap.internal",
            "workshop.example",
        ),
        *(
            "10.1.2.3",
            "172.31.0.1",
            "192.168.0.2",
            "100.64.0.1",
            "169.254.3.4",
            "127.0.0.1",
            "[::1]",
            "fd00::1",
        ),
        "203.0.113.7",
    ],
)
def test_what_lies_in_a_house_may_be_vouched_for(host: str) -> None:
    [name] = house.general_names([host])
    assert house.is_permitted(name, LIMITS)


@pytest.mark.parametrize(
    "host",
    ["bank.example", "notlocal", "local.example", "8.8.8.8", "172.32.0.1", "203.0.113.8", "2001:db8::1"],
)
def test_nothing_else_may(host: str) -> None:
    [name] = house.general_names([host])
    assert not house.is_permitted(name, LIMITS)


def test_own_names_are_added_where_the_house_does_not_hold_them_already() -> None:
    added = (LIMITS.permitted_subtrees or [])[len(house.DOMAINS) + len(house.NETWORKS) :]
    assert [str(name.value) for name in added] == ["shed", "workshop.example", "203.0.113.7/32"]


def test_what_is_no_host_is_left_out() -> None:
    assert house.general_names(["*", ".example", "a b", "", "MY_PC", "Shed", "shed"]) == [
        x509.DNSName("shed")
    ]
