"""Connecting a phone: the only pages that plain HTTP serves to others than this machine.

A phone has no reason to trust the workshop's authority yet, so these pages ask for nothing, set no cookie and hold
nothing of any job.
"""

from flask import Blueprint, Response, current_app, redirect, render_template, request
from markupsafe import Markup

from .tags import qr_svg

blueprint = Blueprint("connect", __name__)

# Both systems open the certificate's installation by this type (RFC 2585 has another, which phones save as a file).
CERTIFICATE_TYPE = "application/x-x509-ca-cert"

# What the check page looks at; static/js/connect-check.js has a function for each.
CHECKS = [["secure", "Trusted connection"], ["worker", "Works without signal"], ["storage", "Keeps unsent records"],
          ["camera", "Camera"], ["microphone", "Microphone"], ["installed", "Installed to the home screen"]]


def phone_of(agent: str) -> str:
    """Tell which steps to show first: "ios", "android", or "" for anything else, such as the office's computer."""
    if "iPhone" in agent or "iPad" in agent:
        return "ios"
    return "android" if "Android" in agent else ""


@blueprint.get("/connect")
def start():
    origin = current_app.config["ORIGIN"]
    certificates = current_app.config["CERTIFICATES"]
    return render_template(
        "office/connect.html", title="Connect a phone", frame=_frame(), phone=phone_of(request.user_agent.string),
        connect_url=origin.connect_url, connect_qr=Markup(qr_svg(origin.connect_url)), app_url=origin.url,
        check_url=origin.url + "/connect/check", app_qr=Markup(qr_svg(origin.url + "/connect/check")),
        fingerprint=certificates.fingerprint(), authority=certificates.authority_name())


@blueprint.get("/connect/authority.crt")
def authority():
    """The authority's certificate in DER form; its key never leaves the server."""
    body = current_app.config["CERTIFICATES"].authority_der()
    return Response(body, mimetype=CERTIFICATE_TYPE,
                    headers={"Content-Disposition": 'attachment; filename="spanwright-workshop.crt"'})


@blueprint.get("/connect/check")
def check():
    origin = current_app.config["ORIGIN"]
    if not request.is_secure and request.host.split(":")[0] not in ("localhost", "127.0.0.1"):
        return redirect(origin.url + "/connect/check", 303)
    return render_template("office/connect_check.html", title="Check this phone", frame=_frame(),
                           checks=CHECKS, sign_in="/signin",
                           phone=phone_of(request.user_agent.string), connect_url=origin.connect_url)


def _frame():
    """What base.html shows around a page, for a visitor who is nobody yet."""
    return {"person": "", "person_verified": False, "shop": "", "host": "server", "unsent": "", "path": request.path,
            "build": ""}
