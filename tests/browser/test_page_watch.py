"""The watch over every page must notice what it is there for."""

import pytest

from tests.browser.watch import PageWatch

ORIGIN = "http://clinic.test"
# Pictures from one other host are allowed here, so that a call there is made and can be noticed.
POLICY = {"Content-Security-Policy": "default-src 'self'; img-src 'self' data: http://else.test"}


@pytest.fixture
def watched(chromium):
    """A page that shows the HTML it is given under a strict content policy, and its watch."""
    context = chromium.new_context()
    page = context.new_page()
    watch = PageWatch(page, ORIGIN)

    def show(body: str, status: int = 200) -> list[str]:
        def answer(route):
            if route.request.url == f"{ORIGIN}/":
                html = f"<!doctype html><link rel=icon href=data:,><title>x</title>{body}"
                route.fulfill(body=html, content_type="text/html", headers=POLICY)
            elif route.request.url.endswith(".js"):
                route.fulfill(body="missing.call()", content_type="text/javascript", status=status)
            else:
                route.fulfill(body="", status=status)

        page.route("**/*", answer)
        page.goto(f"{ORIGIN}/", wait_until="networkidle")
        return watch.problems

    yield show
    context.close()


def test_a_page_in_order_has_no_problems(watched):
    assert watched("<p>Good morning</p>") == []


@pytest.mark.parametrize(
    ("body", "status", "kind"),
    [
        ("<p style='color: red'>", 200, "content policy"),
        ("<script>let inline = 1</script>", 200, "content policy"),
        ("<script src=/static/js/broken.js></script>", 200, "script error"),
        ("<img src=/static/lost.png>", 404, "answer 404"),
        ("<img src=/broken>", 500, "answer 500"),
    ],
)
def test_a_problem_is_noticed(watched, body, status, kind):
    problems = watched(body, status)
    assert [problem.split(":")[0] for problem in problems] == [kind]


def test_a_call_to_another_host_is_noticed(watched):
    assert watched("<img src=http://else.test/a.png>") == [
        "call to another host: http://else.test/a.png"
    ]
