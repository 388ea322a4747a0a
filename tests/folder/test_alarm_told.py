"""An alarm outside the calendar: the mail as a server gets it, the program as it is run, and their faults."""

import email
import sys
from email import policy

import pytest
from mail_sink import Sink, sinking

from care_planner.collection.forecast_wishes import AlarmChoice, Mail
from care_planner.folder.fetch_alarm import tell

TITLE = "Frost tonight, 3 in 4: Ahorn-Trögchen"
TEXT = "open: a low of -1.0 degC\n.a line that begins with a dot\nFleece, bitte schön."


def mail(sink, **more):
    return AlarmChoice(mail=Mail(to="anna@example.org", server="127.0.0.1", port=sink.port, **more))


def test_the_mail_arrives_whole():
    with sinking(Sink()) as sink:
        assert tell(mail(sink, sender="trees@example.org"), TITLE, TEXT) == []
    (raw,) = sink.messages
    got = email.message_from_bytes(raw, policy=policy.default)
    assert (got["Subject"], got["To"], got["From"]) == (TITLE, "anna@example.org", "trees@example.org")
    assert got.get_content().strip().splitlines() == TEXT.splitlines()
    assert sink.logins == []


def test_the_password_comes_from_the_environment_and_is_asked_for_where_it_is_missing(monkeypatch):
    with sinking(Sink()) as sink:
        wanted = mail(sink, user="anna", password_variable="TREES_MAIL_PASSWORD")
        monkeypatch.delenv("TREES_MAIL_PASSWORD", raising=False)
        assert tell(wanted, TITLE, TEXT) == ["alarm: no mail was sent, TREES_MAIL_PASSWORD is not set"]
        assert sink.commands == []
        monkeypatch.setenv("TREES_MAIL_PASSWORD", "s3cret")
        assert tell(wanted, TITLE, TEXT) == []
    assert sink.logins == ["\0anna\0s3cret"] and len(sink.messages) == 1


def test_nothing_goes_in_the_clear_where_starttls_was_asked_for_and_is_not_there(monkeypatch):
    monkeypatch.setenv("TREES_MAIL_PASSWORD", "s3cret")
    with sinking(Sink()) as sink:
        said = tell(
            mail(sink, tls="start", user="anna", password_variable="TREES_MAIL_PASSWORD"), TITLE, TEXT
        )
    assert len(said) == 1 and said[0].startswith("alarm: the mail by 127.0.0.1 could not be sent (")
    assert "s3cret" not in said[0]
    assert (sink.messages, sink.logins) == ([], [])


@pytest.mark.parametrize("refuses", ["MAIL", "RCPT", "DATA", "AUTH"])
def test_a_server_that_refuses_is_told_and_nothing_raises(monkeypatch, refuses):
    monkeypatch.setenv("TREES_MAIL_PASSWORD", "s3cret")
    with sinking(Sink(refuses=refuses)) as sink:
        said = tell(mail(sink, user="anna", password_variable="TREES_MAIL_PASSWORD"), TITLE, TEXT)
    assert len(said) == 1 and "could not be sent" in said[0] and "s3cret" not in said[0]
    assert sink.messages == []


def test_no_server_there_is_told():
    with sinking(Sink()) as sink:
        pass
    (said,) = tell(mail(sink), TITLE, TEXT)
    assert said.startswith("alarm: the mail by 127.0.0.1 could not be sent (")


def program(tmp_path, code):
    path = tmp_path / "call.py"
    path.write_text(code, encoding="utf-8")
    return AlarmChoice(command=(sys.executable, str(path)))


def test_the_program_gets_the_alarm_as_its_input(tmp_path):
    code = (
        "import sys, pathlib\npathlib.Path(__file__).with_name('got').write_bytes(sys.stdin.buffer.read())\n"
    )
    assert tell(program(tmp_path, code), TITLE, TEXT) == []
    assert (tmp_path / "got").read_text(encoding="utf-8") == f"{TITLE}\n{TEXT}\n"


def test_a_program_that_fails_or_is_not_there_is_told(tmp_path):
    (failed,) = tell(program(tmp_path, "import sys; sys.exit('no pager')"), TITLE, TEXT)
    assert failed.startswith("alarm: ") and "ended with 1: no pager" in failed
    (missing,) = tell(AlarmChoice(command=("/nowhere/at/all",)), TITLE, TEXT)
    assert missing == "alarm: /nowhere/at/all could not be run (No such file or directory)"


def test_a_program_that_says_octets_of_no_text_is_told_and_nothing_raises(tmp_path):
    code = "import sys; sys.stderr.buffer.write(bytes([0xff, 0xfe])); sys.exit(3)"
    (failed,) = tell(program(tmp_path, code), TITLE, TEXT)
    assert "ended with 3: " in failed


def test_a_title_over_two_lines_arrives_in_one():
    with sinking(Sink()) as sink:
        assert tell(mail(sink), "Frost tonight:\nthe low bench", TEXT) == []
    (raw,) = sink.messages
    assert b"Subject: Frost tonight: the low bench" in raw


def test_one_way_that_fails_does_not_keep_the_other_silent(tmp_path):
    with sinking(Sink()) as sink:
        both = AlarmChoice(command=("/nowhere/at/all",), mail=mail(sink).mail)
        assert len(tell(both, TITLE, TEXT)) == 1
    assert len(sink.messages) == 1
