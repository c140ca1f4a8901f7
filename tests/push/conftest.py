import pytest

from tests.push.stand_in import PushService


@pytest.fixture
def service(tmp_path):
    service = PushService(tmp_path)
    yield service
    service.close()
