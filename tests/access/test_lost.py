"""An address that is none."""

from django.test import Client


def test_a_program_gets_a_problem_document(db: None, client: Client) -> None:
    answer = client.get("/api/v1/no-such-thing")
    assert answer.status_code == 404
    assert answer["Content-Type"] == "application/problem+json"
    assert answer.json()["status"] == 404


def test_a_person_gets_a_page(db: None, client: Client) -> None:
    answer = client.get("/no-such-thing")
    assert answer.status_code == 404
    assert "To the start page" in answer.content.decode()
