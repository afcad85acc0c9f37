"""Mails with a catalogue: their text, and what is attached to them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from email import message_from_bytes, policy
from email.errors import MessageError
from email.message import EmailMessage

from valuation.errors import LotFileError

__all__ = ["MailParts", "looks_like_mail", "mail_parts"]

_HEADS = (
    b"received:", b"from:", b"to:", b"date:", b"subject:", b"mime-version:", b"return-path:",
    b"message-id:", b"delivered-to:", b"x-", b"content-type:", b"reply-to:", b"dkim-signature:",
)  # fmt: skip
_DEEPEST = 5


@dataclass(frozen=True)
class MailParts:
    """A mail taken apart.

    Parameters
    ----------
    subject : str
        Its subject.
    plain : str
        Its text, empty if it has none.
    html : str
        Its text as HTML, empty if it has none.
    attachments : tuple of (str, bytes)
        Name and content of each attached file.
    """

    subject: str
    plain: str
    html: str
    attachments: tuple[tuple[str, bytes], ...]


def looks_like_mail(data: bytes) -> bool:
    """Tell whether a file begins with the headers of a mail (RFC 5322).

    Parameters
    ----------
    data : bytes
        Content of a file.
    """
    lines = [line.lower() for line in data[:2000].splitlines()[:6] if line[:1] not in b" \t"]
    return sum(line.startswith(_HEADS) for line in lines) >= 2


def _walk(message: EmailMessage, depth: int = 0) -> Iterator[EmailMessage]:
    """Return the parts of a mail that hold something, mails within mails taken apart too."""
    if depth > _DEEPEST:
        return
    if message.is_multipart():
        for part in message.get_payload():
            if isinstance(part, EmailMessage):
                yield from _walk(part, depth + 1)
        return
    yield message


def _content(part: EmailMessage) -> bytes:
    payload = part.get_payload(decode=True)
    return payload if isinstance(payload, bytes) else b""


def _text(part: EmailMessage) -> str:
    """Return the text of a part in whatever letters it names; wrong ones are passed over."""
    charset = part.get_content_charset() or "utf-8"
    data = _content(part)
    try:
        return data.decode(charset)
    except (LookupError, UnicodeDecodeError):
        return data.decode("utf-8", errors="replace")


def mail_parts(name: str, data: bytes) -> MailParts:
    """Take a mail apart.

    Parameters
    ----------
    name : str
        Name of the file for messages.
    data : bytes
        Its content, as mail programs save it (RFC 5322).

    Raises
    ------
    LotFileError
        If it is no mail, or nothing stands in it.
    """
    try:
        message = message_from_bytes(data, policy=policy.default)
        parts = list(_walk(message))
        subject = str(message.get("subject", ""))
        texts: dict[str, list[str]] = {"text/plain": [], "text/html": []}
        attached = []
        for part in parts:
            kind, file = part.get_content_type(), part.get_filename()
            if file or part.get_content_disposition() == "attachment":
                attached.append((file or "attachment", _content(part)))
            elif kind in texts:
                texts[kind].append(_text(part))
    except (MessageError, ValueError, LookupError, AttributeError, TypeError, IndexError) as error:
        raise LotFileError(
            name,
            "it is no mail that can be read",
            got=type(error).__name__,
            remedy="Save the mail again as .eml, or save its attachment and read that",
        ) from error
    plain, html = ("\n\n".join(texts[k]) for k in ("text/plain", "text/html"))
    if not (plain.strip() or html.strip() or attached):
        raise LotFileError(
            name, "the mail is empty", remedy="Save the mail again as .eml, attachments included"
        )
    return MailParts(subject, plain, html, tuple(attached))
