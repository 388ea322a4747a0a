"""An alarm told outside the calendar: by a program of the grower's own, or by mail."""

import os
import smtplib
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
            text=True,
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
    message["Subject"], message["To"], message["From"] = title, mail.to, mail.sender or mail.to
    message.set_content(text)
    connect = smtplib.SMTP_SSL if mail.tls == "direct" else smtplib.SMTP
    try:
        with connect(mail.server, mail.port, timeout=_TIMEOUT_S) as server:
            if mail.tls == "start":
                server.starttls()
            if mail.user is not None:
                server.login(mail.user, os.environ.get(mail.password_variable or "", ""))
            server.send_message(message)
    except (OSError, smtplib.SMTPException) as error:
        return [f"alarm: the mail by {mail.server} could not be sent ({error})"]
    return []
