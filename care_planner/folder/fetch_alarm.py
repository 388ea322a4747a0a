"""An alarm told outside the calendar: by a program of the grower's own, or by mail."""

import os
import smtplib
import ssl
import subprocess
from email.message import EmailMessage

from care_planner.collection.forecast_wishes import AlarmChoice, Mail

_TIMEOUT_S = 60


def tell(choice: AlarmChoice, title: str, text: str) -> list[str]:
    """Tell one alarm in every way chosen. Returns what went wrong, in words; nothing raises."""
    said = []
    if choice.command is not None:
        said += _run(choice.command, title, text)
    if choice.mail is not None:
        said += _send(choice.mail, title, text)
    return said


def _run(command: tuple[str, ...], title: str, text: str) -> list[str]:
    try:
        done = subprocess.run(
            command,
            input=f"{title}\n{text}\n",
            encoding="utf-8",  # whatever the system's own is, and whatever the program says in
            errors="replace",
            timeout=_TIMEOUT_S,
            capture_output=True,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return [f"alarm: {command[0]} did not end within {_TIMEOUT_S} s"]
    except OSError as error:
        return [f"alarm: {command[0]} could not be run ({error.strerror or error})"]
    if done.returncode:
        return [f"alarm: {command[0]} ended with {done.returncode}: {done.stderr.strip()[:200]}"]
    return []


def _send(mail: Mail, title: str, text: str) -> list[str]:
    message = EmailMessage()
    message["Subject"] = " ".join(title.split())  # a name may go over two lines, a header may not
    message["To"], message["From"] = mail.to, mail.sender or mail.to
    message.set_content(text)
    password = os.environ.get(mail.password_variable, "") if mail.password_variable is not None else ""
    if mail.user is not None and not password:
        return [f"alarm: no mail was sent, {mail.password_variable or 'password_variable'} is not set"]
    try:
        with _connected(mail) as server:
            if mail.user is not None:
                server.login(mail.user, password)
            server.send_message(message)
    except (OSError, smtplib.SMTPException, ValueError) as error:
        return [f"alarm: the mail by {mail.server} could not be sent ({error})"]
    return []


def _connected(mail: Mail) -> smtplib.SMTP:
    """The server, by a line that is as safe as was asked for; its certificate must be good."""
    if mail.tls == "direct":
        return smtplib.SMTP_SSL(
            mail.server, mail.port, timeout=_TIMEOUT_S, context=ssl.create_default_context()
        )
    server = smtplib.SMTP(mail.server, mail.port, timeout=_TIMEOUT_S)
    if mail.tls == "start":
        try:
            server.starttls(context=ssl.create_default_context())
        except BaseException:
            server.close()
            raise
    return server
