"""The same code on real servers: PostgreSQL by DATABASE_URL, Redis by CELERY_BROKER_URL."""

import io
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
import redis
from pypdf import PdfReader

from tests.runtime.servers import OWNER, Redis, postgresql
from tests.runtime.service import Service, until

pytestmark = pytest.mark.servers


@pytest.fixture(scope="module")
def broker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Redis]:
    server = Redis(tmp_path_factory.mktemp("redis"))
    yield server
    server.kill()


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with postgresql(tmp_path_factory.mktemp("pg") / "server") as url:
        yield url


@pytest.fixture(scope="module")
def service(
    tmp_path_factory: pytest.TempPathFactory, database: str, broker: Redis
) -> Iterator[Service]:
    folder: Path = tmp_path_factory.mktemp("up") / "data"
    one = Service(folder, DATABASE_URL=database, CELERY_BROKER_URL=broker.url)
    one.start()
    one.sign_in()
    yield one
    one.kill_everything()


def test_a_print_comes_through_both(service: Service, broker: Redis) -> None:
    job_id = service.ask_for_print()
    done = service.print_done(job_id)
    assert (done["state"], done["attempts"]) == ("done", 1)
    assert len(PdfReader(io.BytesIO(service.get(f"/prints/{job_id}/file"))).pages) > 5
    # The worker waits at this Redis, and nothing of the embedded ones was started or made.
    assert redis.Redis(port=broker.port).exists("_kombu.binding.celery")
    assert not (service.folder / "database").exists()
    assert not (service.folder / "queue").exists()
    version = service.rows("SHOW server_version_num")[0]["server_version_num"]
    assert int(version) >= 150000


def test_the_served_role_owns_nothing_and_sees_nothing_by_itself(service: Service) -> None:
    tables = service.rows("SELECT tableowner AS owner FROM pg_tables WHERE schemaname = 'public'")
    assert {table["owner"] for table in tables} == {OWNER}
    query = "SELECT * FROM pg_roles WHERE rolname = 'clubsetup_app'"
    role = service.rows(query)[0]
    powers = ("rolsuper", "rolbypassrls", "rolcreaterole", "rolcreatedb", "rolreplication")
    assert not [power for power in powers if role[power]]
    (web, *_) = service.part("gunicorn")
    with psycopg.connect(web.environ()["DATABASE_URL"]) as connection:
        assert connection.execute("SELECT current_user").fetchone() == ("clubsetup_app",)
        assert connection.execute("SELECT count(*) FROM teams_club").fetchone() == (0,)
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            connection.execute("SET ROLE " + OWNER)


def test_a_broker_that_dies_with_the_message_loses_no_print(
    service: Service, broker: Redis
) -> None:
    broker.kill()
    job_id = service.ask_for_print()  # answered, although there is no broker
    assert service.job(job_id)["state"] == "waiting"
    broker.start()
    assert service.print_done(job_id)["state"] == "done"
    assert service.done_lines(job_id) == 1


def test_a_killed_worker_s_print_still_comes(service: Service) -> None:
    for file in (service.folder / "prints").glob("*/*.pdf"):
        file.unlink()
    job_id = service.ask_for_print()
    until(lambda: service.job(job_id)["state"] == "working", "the worker to take it")
    (worker,) = service.part("celery")
    worker.kill()
    done = service.print_done(job_id)
    assert (done["state"], done["attempts"]) == ("done", 2)
    assert service.done_lines(job_id) == 1


def test_a_second_start_finds_the_same_tables(service: Service) -> None:
    assert service.interrupt() == 0
    assert not service.processes()
    service.start()
    assert service.get("/prints/")
    assert "Founded" not in service.said()
    assert service.rows("SELECT count(*) AS n FROM teams_club")[0]["n"] == 1
