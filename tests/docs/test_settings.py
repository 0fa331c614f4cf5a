"""Every setting that the code reads stands on the page of settings, and no other does."""

import re

from tests.reference import ROOT


def named_in(text):
    return set(re.findall(r"\bTRIPMARGIN_[A-Z]+(?:_[A-Z]+)*\b", text))


def test_the_page_of_settings_names_what_the_code_reads():
    code = "\n".join(
        path.read_text(encoding="utf-8") for path in (ROOT / "src" / "tripmargin").rglob("*.py")
    )
    page = (ROOT / "docs" / "reference" / "settings.md").read_text(encoding="utf-8")
    assert len(named_in(code)) >= 6
    assert named_in(code) == named_in(page)


def test_the_figures_of_the_page_on_security_are_those_of_the_code():
    from tests.databases import set_django_up

    set_django_up()
    from django.conf import settings

    from tripmargin.records.keeping import invitations, limits
    from tripmargin.web.doors.limits import LARGEST_REQUEST
    from tripmargin.web.serving.server import LARGEST

    page = " ".join(
        (ROOT / "docs" / "explanation" / "security.md").read_text(encoding="utf-8").split()
    )
    for words in (
        f"{settings.SESSION_COOKIE_AGE // 86400} days",
        f"at least {settings.AUTH_PASSWORD_VALIDATORS[1]['OPTIONS']['min_length']} letters",
        f"{limits.FREE_OF_NAME} tries on a name",
        f"{limits.FREE_OF_ADDRESS} from an address",
        f"waits {limits.FIRST_WAIT.seconds} s",
        f"{limits.LONGEST_WAIT.seconds // 60} minutes at most",
        f"for {invitations.OWNER_LASTS.total_seconds() / 3600:.0f} hours",
        f"for {invitations.LASTS.days} days",
        f"{LARGEST_REQUEST / 1e6:.0f} MB a request",
        f"{LARGEST / 1e6:.0f} MB the connection ends",
        f"{settings.DATA_UPLOAD_MAX_NUMBER_FIELDS} fields",
        f"{settings.DATA_UPLOAD_MAX_NUMBER_FILES} files",
    ):
        assert words in page
