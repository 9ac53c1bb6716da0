"""Sending a message by e-mail, with the standard library (RFC 5321, RFC 3207)."""

from __future__ import annotations

import smtplib
import ssl
from email.message import EmailMessage
from email.utils import localtime, make_msgid

from nestwatch.errors import NotifyError
from nestwatch.site.records import Mail
from nestwatch.unattended.message import Message
from nestwatch.unattended.secret import mail_password

PATIENCE_S = 30.0
"""So long each answer of the server is waited for."""


def send_mail(mail: Mail, message: Message, *, trusted: ssl.SSLContext | None = None) -> None:
    """Hand a message to the mail server. Raises `NotifyError`.

    `trusted` is whose certificates are believed, by default those the system believes. The password travels
    only after encryption has begun.
    """
    letter = as_letter(mail, message)
    password = None if mail.user is None else mail_password(mail.user)
    try:
        with _connected(mail, trusted or ssl.create_default_context()) as server:
            if mail.user is not None and password is not None:
                server.login(mail.user, password)
            refused = server.send_message(letter)
    except (smtplib.SMTPException, OSError, UnicodeEncodeError) as error:
        raise NotifyError(f"the mail server {mail.server}:{mail.port} {_why(error)}.") from error
    if refused:
        raise NotifyError(f"the mail server {mail.server} does not take mail for {', '.join(refused)}.")


def as_letter(mail: Mail, message: Message) -> EmailMessage:
    """The message with its headers."""
    letter = EmailMessage()
    letter["Subject"] = message.subject
    letter["From"] = mail.sender
    letter["To"] = ", ".join(mail.to)
    letter["Date"] = localtime()
    # Without a domain the computer's own name would travel along.
    letter["Message-ID"] = make_msgid(domain=mail.sender.rpartition("@")[2])
    letter["Auto-Submitted"] = "auto-generated"  # RFC 3834: no out-of-office answers
    letter.set_content(message.text)
    return letter


def _connected(mail: Mail, trusted: ssl.SSLContext) -> smtplib.SMTP:
    # The name after EHLO would otherwise be the computer's own.
    own = "localhost.localdomain"
    if mail.security == "tls":
        return smtplib.SMTP_SSL(mail.server, mail.port, own, timeout=PATIENCE_S, context=trusted)
    server = smtplib.SMTP(mail.server, mail.port, own, timeout=PATIENCE_S)
    if mail.security == "starttls":
        try:
            server.starttls(context=trusted)
        except BaseException:
            server.close()
            raise
    return server


def _why(error: Exception) -> str:
    """What is wrong and what to do, as the end of a sentence about the server."""
    if isinstance(error, smtplib.SMTPAuthenticationError):
        return "refuses the name or the password; many servers want a password made for programs"
    if isinstance(error, smtplib.SMTPNotSupportedError):
        return 'offers no encryption there; try security = "tls", or another port'
    if isinstance(error, ssl.SSLError):
        why = error.reason or error
        return f"cannot be trusted or speaks no TLS there ({why}); check server, port and security"
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        return f"does not take mail for {', '.join(error.recipients)}; check the addresses"
    if isinstance(error, smtplib.SMTPResponseException):
        said = error.smtp_error
        text = said.decode(errors="replace") if isinstance(said, bytes) else said
        return f"says {error.smtp_code} {' '.join(text.split())}; check [notify.mail] in the site file"
    if isinstance(error, UnicodeEncodeError):
        return "cannot be given that name or password: letters beyond plain English do not fit; change it"
    if isinstance(error, TimeoutError) or isinstance(error.__context__, TimeoutError):
        return f"does not answer within {PATIENCE_S:.0f} s; check the network, server and port"
    return f"cannot be reached ({error}); check the network, server and port"
