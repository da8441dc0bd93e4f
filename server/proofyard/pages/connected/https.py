"""https for phones that log: the steps for each kind of phone, and the authority to be trusted, as a file.

Both are open to whoever finds the laptop: a phone must be told to trust it before it can join that way, and a certificate
is no secret. What the owner alone hears is what is amiss with it.
"""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request, Response
from fastapi.responses import HTMLResponse

from proofyard.access.gate import TheGate
from proofyard.access.joining import JoinCode, join_code
from proofyard.access.seats import AnySeat
from proofyard.certificate import UnfitCertificate, fingerprint_of, shown_by, to_say_of
from proofyard.pages.frame.rendering import frame_for, html
from proofyard.settings import Settings

router = APIRouter()

AUTHORITY = "/https/proofyard-authority.crt"


@dataclass(frozen=True)
class HttpsPage:
    """addresses: by https, those that the certificate names; code: of this page, for a phone's camera; said: what is amiss.

    here  this page itself was asked for by https
    """

    owner: bool
    here: bool
    addresses: tuple[str, ...] = ()
    code: JoinCode | None = None
    fingerprint: str = ""
    ends: str = ""
    said: tuple[str, ...] = ()
    authority: str = AUTHORITY


@router.get("/https")
def https_for_phones(request: Request, seat: AnySeat, gate: TheGate) -> HTMLResponse:
    settings: Settings = request.app.state.settings
    owner, here = seat.role == "owner", request.url.scheme == "https"
    page = HttpsPage(owner, here)
    if settings.also_https is not None:
        try:
            shown = shown_by(settings.also_https.shown)
            fingerprint = fingerprint_of(settings.own_https.authority.read_bytes())
        except (UnfitCertificate, OSError):  # taken away while it is served
            return html("https/page.html", page, frame=frame_for(request, title="https for phones that log", nav="more"))
        offered = gate.addresses.to_join_by_https()
        plain = gate.addresses.to_join(asked_by="" if here else request.headers.get("host", ""))
        page = HttpsPage(
            owner,
            here,
            addresses=tuple(f"https://{one}{settings.path}/join" for one in offered if shown.covers_host(one)),
            code=join_code(gate.addresses.link(plain[0], "/https")) if plain and owner else None,
            fingerprint=fingerprint,
            ends=f"{shown.ends.day} {shown.ends:%B %Y}",
            said=tuple(to_say_of(shown, offered)) if owner else (),
        )
    return html("https/page.html", page, frame=frame_for(request, title="https for phones that log", nav="more"))


@router.get(AUTHORITY)
def authority(request: Request, _: AnySeat) -> Response:
    """The authority that phones are told to trust, in the form that both kinds of phone take."""
    settings: Settings = request.app.state.settings
    if settings.also_https is None or not settings.own_https.authority.exists():
        raise HTTPException(404)
    name = AUTHORITY.rpartition("/")[2]
    return Response(
        settings.own_https.authority.read_bytes(),
        headers={"Content-Type": "application/x-x509-ca-cert", "Content-Disposition": f'attachment; filename="{name}"'},
    )
