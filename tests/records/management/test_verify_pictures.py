"""`verify_pictures` finds photographs without their files, and files without a photograph."""

import os
from datetime import timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.utils import timezone

from clinic.pictures.storage import private_pictures
from records.photographs.files import SETTLED
from records.sessions.services import pictures
from records.sessions.services.pictures import drop_picture
from tests.factories import make_picture, make_session, refreshed


def verify(*args: str) -> str:
    out = StringIO()
    call_command("verify_pictures", *args, stdout=out)
    return out.getvalue().strip()


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch) -> Path:
    monkeypatch.setattr(settings, "VAR_DIR", tmp_path)
    return tmp_path / "pictures"


@pytest.fixture
def session(injector, patient):
    return make_session(injector, patient)


def aged(path: Path) -> Path:
    """As if it had been written longer ago than a photograph takes to be stored."""
    then = (timezone.now() - SETTLED - timedelta(minutes=1)).timestamp()
    os.utime(path, (then, then))
    return path


class Killed(BaseException):
    """The server's end: nothing is tidied up after it."""


@pytest.fixture
def orphan(session, folder, monkeypatch) -> Path:
    """The file of a photograph whose server was killed before its row."""

    def killed(*_):
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(pictures, "_kept", killed)
        patch.setattr(pictures, "private_pictures", lambda: NeverDeletes())
        with pytest.raises(Killed):
            make_picture(session)
    (path,) = folder.iterdir()
    return path


class NeverDeletes(type(private_pictures())):
    def delete(self, name: str) -> None:
        """A killed server deletes nothing."""


@pytest.mark.django_db
def test_an_empty_clinic_is_fine():
    assert verify("--tidy").startswith("0 photographs have their files, 0 loose files")


def test_a_file_without_its_row_goes_when_it_has_settled(orphan, session, folder):
    kept = folder / str(make_picture(session).file.name)
    aged(kept)
    assert "1 photographs have their files, 0 loose" in verify("--tidy")
    assert orphan.exists()
    aged(orphan)
    assert verify() == "1 photographs have their files, 1 loose files left where they are"
    assert orphan.exists()
    assert verify("--tidy") == "1 photographs have their files, 1 loose files deleted"
    assert list(folder.iterdir()) == [kept]


def test_the_file_of_a_photograph_taken_out_goes_too(session, injector, folder):
    """The server was killed after the commit, before the file went."""
    picture = make_picture(session)
    drop_picture(picture=picture, actor=injector)
    (path,) = folder.iterdir()
    verify("--tidy")
    assert path.exists()
    aged(path)
    verify("--tidy")
    assert not path.exists()


def test_a_missing_file_is_named(session):
    picture = refreshed(make_picture(session))
    private_pictures().delete(picture.file.name)
    with pytest.raises(CommandError, match=f"{picture.key}.* its file is missing"):
        verify()


def test_another_file_in_its_place_is_named_and_nothing_is_tidied(session, folder, orphan):
    aged(orphan)
    picture = make_picture(session)
    (folder / str(picture.file.name)).write_bytes(b"another")
    with pytest.raises(CommandError, match="not the one that was stored"):
        verify("--tidy")
    assert orphan.exists()
