"""The pages of assessments."""

import re
from html import unescape

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from planning.assessment import RegionGrade, Scale
from planning.atlas.regions import Region
from records.assessments.models import Assessment
from records.sessions.services.signing import sign_session
from tests.factories import make_assessment, make_line, make_plan, make_product, make_session


@pytest.fixture
def address(patient):
    return reverse("assessment-create", args=[patient.pk])


@pytest.fixture
def fragment(patient):
    return reverse("assessment-for-patient", args=[patient.pk])


def text_of(answer) -> str:
    return unescape(answer.content.decode())


def shading(page: str, region: str) -> dict[str, str]:
    """Side -> class on the first drawing of the page."""
    [area, *_] = re.findall(rf'data-region="{region}".*?</(?:a|g)>', page, re.DOTALL)
    return {side: name for name, side in re.findall(r'<path class="(.*?)" data-side="(\w+)"', area)}


def test_a_face_is_assessed_and_shown(address, patient, injector, signed_in):
    data = {
        "zygomatic-volume-right": "2", "zygomatic-volume-left": "3",
        "zygomatic-volume-note": "Old fracture", "glabella-movement-midline": "3",
        "note": "Looks tired", "key": "",
    }  # fmt: skip
    answer = signed_in(injector).post(address, data, follow=True)
    saved = Assessment.objects.get()
    assert answer.redirect_chain == [(reverse("assessment-detail", args=[saved.pk]), 302)]
    assert saved.grades == (
        RegionGrade(Region.GLABELLA, Scale.MOVEMENT, midline=3),
        RegionGrade(Region.ZYGOMATIC, Scale.VOLUME, right=2, left=3, note="Old fracture"),
    )
    page = text_of(answer)
    for words in ["Looks tired", "Old fracture", "Left 1 grade more", "moderate", "severe",
                  "NCT02261493", "read second-hand"]:  # fmt: skip
        assert words in page
    assert shading(page, "zygomatic") == {"right": "area area--2", "left": "area area--3"}
    assert ">M3<" in page  # never told by colour alone


def test_every_region_can_be_graded_without_a_drawing_or_a_script(address, injector, signed_in):
    page = text_of(signed_in(injector).get(address))
    for region in Region:
        assert page.count(f'id="region-{region}"') == 1
        assert f'name="{region}-volume-left"' in page
    assert 'href="#region-zygomatic"' in page
    assert 'name="zygomatic-volume-midline"' not in page
    assert 'name="glabella-volume-midline"' in page


def test_assessing_again_starts_from_the_last_time(address, patient, injector, signed_in):
    make_assessment(injector, patient)
    client = signed_in(injector)
    page = text_of(client.get(address))
    assert 'name="zygomatic-volume-left" value="3" checked' in page
    assert "right 2, left 3" in page
    assert shading(page, "zygomatic") == {"right": "area area--2", "left": "area area--3"}
    afresh = text_of(client.get(f"{address}?afresh"))
    assert 'name="zygomatic-volume-left" value="3" checked' not in afresh
    assert 'name="zygomatic-volume-left" value="" checked' in afresh


def test_changes_since_the_last_time_are_told(address, patient, injector, signed_in):
    make_assessment(injector, patient)
    data = {"zygomatic-volume-right": "3", "zygomatic-volume-left": "1"}
    page = text_of(signed_in(injector).post(address, data, follow=True))
    assert "Left improved, 3 to 1" in page
    assert "Right worse, 2 to 3" in page


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ({}, "Grade at least one region, or write a note."),
        ({"note": "  "}, "Grade at least one region, or write a note."),
        ({"zygomatic-volume-left": "5"}, "choose a grade from 0 to 4"),
        ({"zygomatic-volume-left": "x"}, "choose a grade from 0 to 4"),
        (
            {"glabella-volume-midline": "1", "glabella-volume-left": "1"},
            "grade the whole region or its two sides, not both",
        ),
        ({"note": "x" * 2001}, "at most 2000 characters"),
        ({"zygomatic-volume-note": "x" * 201}, "at most 200 characters"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_chosen_is_lost(address, injector, signed_in, data, says):
    if data and "note" not in data:
        data |= {"temple-volume-right": "2", "temple-volume-note": "Kept as typed"}
    answer = signed_in(injector).post(address, data)
    assert answer.status_code == 422
    page = text_of(answer)
    assert says in page
    if "temple-volume-note" in data:
        assert 'name="temple-volume-right" value="2" checked' in page
        assert 'value="Kept as typed"' in page
    assert not Assessment.objects.exists()


def test_a_page_sent_twice_leads_to_the_one_assessment(address, injector, signed_in):
    client = signed_in(injector)
    key = client.get(address).context["form"].initial["key"]
    data = {"key": str(key), "zygomatic-volume-left": "1"}
    assert client.post(address, data)["Location"] == client.post(address, data)["Location"]
    assert Assessment.objects.count() == 1


def test_the_patients_page_has_the_latest_at_a_glance(fragment, patient, injector, signed_in):
    client = signed_in(injector)
    assert "Not assessed yet." in text_of(client.get(fragment))
    make_assessment(injector, patient)
    make_assessment(injector, patient, RegionGrade(Region.ZYGOMATIC, Scale.VOLUME, left=4))
    page = text_of(client.get(fragment))
    assert "4 very severe" in page
    assert "Assess again" in page
    assert "the first" in page
    assert shading(page, "zygomatic")["left"] == "area area--4"


def test_the_owner_reads_and_does_not_assess(fragment, patient, injector, owner, signed_in):
    saved = make_assessment(injector, patient)
    client = signed_in(owner)
    assert "Assess again" not in text_of(client.get(fragment))
    assert "Assess again" not in text_of(client.get(reverse("assessment-detail", args=[saved.pk])))


def test_the_front_desk_is_shown_no_panel_of_it(patient, desk, signed_in, fragment):
    page = signed_in(desk).get(reverse("patient-detail", args=[patient.pk]))
    assert fragment not in text_of(page)


def test_every_look_is_in_the_trail(fragment, address, patient, injector, signed_in):
    saved = make_assessment(injector, patient)
    client = signed_in(injector)
    for url in (fragment, address, reverse("assessment-detail", args=[saved.pk])):
        client.get(url)
    actions = AuditEvent.objects.filter(patient_id=patient.pk).values_list("action", flat=True)
    assert [action for action in actions.order_by("id") if action.startswith("read")] == [
        "read.assessments", "read.assessments", "read",
    ]  # fmt: skip


def test_a_patient_or_assessment_that_is_not_there_is_not_found(injector, signed_in):
    for url in ("/assessments/new/9/", "/assessments/for-patient/9/", "/assessments/9/"):
        assert signed_in(injector).get(url).status_code == 404


def test_a_whole_face_asks_the_database_no_more_than_one_region(
    patient, injector, signed_in, django_assert_num_queries
):
    whole = [RegionGrade(region, Scale.VOLUME, left=1, right=2) for region in Region]
    client = signed_in(injector)
    few, many = make_assessment(injector, patient), make_assessment(injector, patient, *whole)
    last = make_assessment(injector, patient)
    client.get(address_of(few))
    with CaptureQueriesContext(connection) as asked:
        client.get(address_of(many))
    with django_assert_num_queries(len(asked)):
        client.get(address_of(last))


def address_of(assessment: Assessment) -> str:
    return reverse("assessment-detail", args=[assessment.pk])


def test_what_was_graded_is_planned_with_one_press(signed_in, injector, patient):
    """Both temples were graded; the left one is in the plan already."""
    product = make_product()
    line = make_line(product, region="temple")
    stage = make_plan(injector, patient, None, line).stages.get()
    address = reverse("assessment-for-plan", args=[stage.pk])
    client = signed_in(injector)
    assert "No assessment yet." in client.get(address).content.decode()
    make_assessment(injector, patient, RegionGrade(Region.TEMPLE, Scale.VOLUME, left=2, right=3))
    text = client.get(address).content.decode()
    assert "Loss of volume: 3 severe" in text
    assert text.count("planned") == 1
    link = f"{reverse('plan-line-create', args=[stage.pk])}?region=temple&amp;side=right"
    assert link in text
    form = client.get(link.replace("&amp;", "&")).context["form"]
    assert (form["side"].value(), form["plane"].value()) == ("right", "supraperiosteal")
    sign_session(session=make_session(injector, patient), remainders={}, actor=injector)
    assert "Plan it" not in client.get(address).content.decode()


def test_a_line_in_the_midline_serves_both_sides_and_both_sides_serve_the_whole(
    signed_in, injector, patient
):
    product = make_product()
    lines = [
        make_line(product, region="glabella", side="midline"),
        make_line(product, region="mental", side="left"),
        make_line(product, region="mental", side="right"),
    ]
    stage = make_plan(injector, patient, None, *lines).stages.get()
    make_assessment(
        injector,
        patient,
        RegionGrade(Region.GLABELLA, Scale.VOLUME, left=2, right=3),
        RegionGrade(Region.MENTAL, Scale.VOLUME, midline=1),
    )
    text = signed_in(injector).get(reverse("assessment-for-plan", args=[stage.pk])).content.decode()
    assert text.count("planned") == 3
    assert "Plan it" not in text
