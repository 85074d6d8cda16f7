"""The office's own screens: people, phones, the workshop's settings. They need the server."""

from flask import Blueprint, abort, redirect, render_template, request

from . import context, devices, people, shop
from .core import forms, sections, times, words
from .core.errors import CoreError

blueprint = Blueprint("office", __name__, url_prefix="/office")


def show(template: str, title: str, status: int = 200, **values):
    """Answer with an office page."""
    page = render_template(f"office/{template}", title=title, frame=context.frame(),
                           supervisor="supervisor" in context.person()["roles"], **values)
    return page, status


@blueprint.get("")
def home():
    return show("home.html", "Office")


# People

def _person_form(typed, errors, new):
    fields = [forms.field("name", "Name", typed["name"], errors, most=40)]
    tiles = forms.tiles("roles", "Does what here", words.choice_pairs("role"), typed["roles"], errors, many=True)
    pin = forms.field("pin", "PIN" if new else "New PIN", "", errors,
                      "4 to 12 digits." if new else "4 to 12 digits. Leave it empty to keep the old one.", mode="numeric")
    labels = [["name", "Name"], ["roles", "Does what here"], ["pin", "PIN"]]
    problems = [[name, label, errors[name]] for name, label in labels if name in errors]
    return {"fields": fields, "roles": tiles, "pin": pin, "problems": problems}


def _typed():
    return {"name": request.form.get("name", ""), "roles": request.form.getlist("roles"),
            "pin": request.form.get("pin", "").strip()}


@blueprint.get("/people")
def people_list():
    context.need_supervisor()
    return _people({"name": "", "roles": []}, {}, 200)


def _people(typed, errors, status):
    rows = [{"href": f"/office/people/{p['id']}", "name": p["name"], "active": p["active"],
             "roles": ", ".join(words.label("role", role) for role in p["roles"])}
            for p in people.listed(context.database())]
    return show("people.html", "People", status, rows=rows, form=_person_form(typed, errors, True),
                open_form=bool(errors))


@blueprint.post("/people")
def add_person():
    context.need_supervisor()
    typed = _typed()
    try:
        people.add(context.database(), typed["name"], typed["roles"], typed["pin"], context.person()["id"], context.now())
    except CoreError as error:
        return _people(typed, {error.field: words.sentence(error)}, 422)
    return redirect("/office/people", 303)


@blueprint.get("/people/<person>")
def person_page(person):
    context.need_supervisor()
    return _person(_held(person), {}, 200)


def _held(person):
    return people.get(context.database(), person) or abort(404)


def _person(held, errors, status):
    return show("person.html", held["name"], status, person=held, form=_person_form(held, errors, False))


@blueprint.post("/people/<person>")
def change_person(person):
    context.need_supervisor()
    held = _held(person)
    typed = _typed()
    working = request.form.get("working", "yes") == "yes"
    by, at = context.person()["id"], context.now()
    try:
        if typed["pin"]:
            people.check_new_pin(typed["pin"])
        people.change(context.database(), person, typed["name"], typed["roles"], working, by, at)
        if typed["pin"]:
            people.change_pin(context.database(), person, typed["pin"], by, at)
    except CoreError as error:
        return _person(dict(held, name=typed["name"], roles=typed["roles"]), {error.field: words.sentence(error)}, 422)
    return redirect("/office/people", 303)


# Phones

@blueprint.get("/phones")
def phones():
    context.need_supervisor()
    names = {p["id"]: p["name"] for p in people.listed(context.database())}
    rows = [{"id": d["id"], "label": d["label"], "person": names[d["person"]], "by": names[d["enrolled_by"]],
             "since": times.shown(d["enrolled_at"]), "revoked": times.shown(d["revoked_at"]) if d["revoked_at"] else "",
             "this": d["id"] == context.device()["id"]} for d in devices.listed(context.database())]
    return show("phones.html", "Phones and computers", rows=rows)


@blueprint.post("/phones/<device>/revoke")
def revoke(device):
    context.need_supervisor()
    devices.revoke(context.database(), device, context.person()["id"], context.now())
    return redirect("/office/phones", 303)


# The workshop's settings

_SHOP_LABELS = {"length_unit": "Lengths in", "force_unit": "Forces in", "distance_unit": "Distances in",
                "paper": "Paper"}
_TAPE_HINT = "What your tape reads more than the printed length, in millimetre. Leave it empty when not known."


_RIBBED = sorted(sections.RIBBED)


def _shop_page(settings, errors, status):
    fields = [forms.field("name", "Name of the workshop", settings["name"], errors, most=60),
              forms.field("address", "Address for the sheet", settings["address"], errors, lines=3, most=300)]
    tiles = [forms.tiles(key, label, shop.CHOICES[key], [settings[key]], errors) for key, label in _SHOP_LABELS.items()]
    tape = [forms.field("tape_" + name, f"Tape constant for {name}", settings["tape_constants"].get(name, ""), errors,
                        mode="decimal", most=12) for name in _RIBBED]
    problems = [[name, "", sentence] for name, sentence in errors.items()]
    return show("shop.html", "Workshop", status, fields=fields, tiles=tiles, tape=tape, tape_hint=_TAPE_HINT,
                problems=problems)


@blueprint.get("/shop")
def shop_page():
    context.need_supervisor()
    return _shop_page(shop.load(context.database()), {}, 200)


@blueprint.post("/shop")
def change_shop():
    context.need_supervisor()
    settings = {key: request.form.get(key, "").strip() for key in shop.BLANK}
    settings["tape_constants"] = {name: request.form.get("tape_" + name, "").strip() for name in _RIBBED}
    try:
        shop.save(context.database(), settings, context.person()["id"], context.now())
    except CoreError as error:
        return _shop_page(settings, {error.field: words.sentence(error)}, 422)
    return redirect("/office", 303)
