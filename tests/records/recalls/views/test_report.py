"""The report's panel and its file."""

import pytest
from django.urls import reverse

from records.recalls import report
from records.recalls.models import CaseReport, RecallCase

HTMX = {"HX-Request": "true"}


@pytest.fixture(autouse=True)
def quick_printer(monkeypatch):
    monkeypatch.setattr(report, "render_pdf", lambda html: b"%PDF-1.7 " + html.encode())


@pytest.fixture
def page(signed_in, owner):
    return signed_in(owner)


@pytest.fixture
def closed(case, owner) -> RecallCase:
    RecallCase.objects.filter(pk=case.pk).update(
        closed_at=case.opened_at, closed_by=owner, closed_digest="x", closed_name="Olga Owner"
    )
    return case


def at(name: str, case: RecallCase) -> str:
    return reverse(name, kwargs={"pk": case.pk})


def test_an_open_case_gives_a_draft(page, case):
    assert "Draft (PDF)" in page.get(at("recall-report-panel", case)).content.decode()
    answer = page.get(at("recall-report", case))
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="recall-R0001-report-draft.pdf"'
    page.post(at("recall-report-keep", case))
    assert not CaseReport.objects.exists()


def test_the_file_of_a_drill_says_so(page, drill):
    answer = page.get(at("recall-report", drill))
    assert 'filename="DRILL-D0001-report-draft.pdf"' in answer["Content-Disposition"]


def test_the_panel_of_a_closed_case_has_its_report_made(page, closed):
    """By itself, a moment after the closing, since printing takes seconds."""
    url = at("recall-report-keep", closed)
    waiting = page.get(at("recall-report-panel", closed)).content.decode()
    assert f'hx-post="{url}" hx-trigger="load"' in waiting
    done = page.post(url, headers=HTMX).content.decode()
    kept = CaseReport.objects.get()
    assert kept.digest in done
    assert "Report (PDF)" in done
    assert "hx-trigger" not in done
    assert page.get(at("recall-report-panel", closed)).content.decode() == done
    assert page.get(at("recall-report", closed)).content == bytes(kept.pdf)


def test_without_script_the_report_is_made_by_asking_for_it(page, closed):
    answer = page.get(at("recall-report", closed))
    assert answer.content == bytes(CaseReport.objects.get().pdf)
    assert answer["Content-Disposition"] == 'inline; filename="recall-R0001-report.pdf"'
    assert page.post(at("recall-report-keep", closed)).url == at("recall-detail", closed)


@pytest.mark.parametrize("name", ["recall-report", "recall-report-panel"])
def test_an_unknown_case_is_not_found(page, name):
    assert page.get(reverse(name, kwargs={"pk": 999_999})).status_code == 404
