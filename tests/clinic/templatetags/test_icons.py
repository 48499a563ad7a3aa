from django.template import engines


def drawn(source, **context):
    return engines["django"].from_string(source).render(context)


def test_an_icon_beside_text_is_not_read_aloud():
    svg = drawn('{% icon "check" %}')
    assert '<svg class="icon" ' in svg
    assert 'aria-hidden="true"' in svg
    assert "icons.svg#check" in svg


def test_an_icon_alone_is_read_aloud():
    svg = drawn('{% icon "close" label=label size="lg" %}', label='Close "it" & go')
    assert 'role="img" aria-label="Close &quot;it&quot; &amp; go"' in svg
    assert 'class="icon icon--lg"' in svg


def test_a_name_is_put_together():
    assert "icons.svg#state-due" in drawn('{% icon "state-"|add:state %}', state="due")


def test_whatever_comes_for_a_name_stays_text():
    assert "<b>" not in drawn("{% icon name size=name %}", name='"><b>')
