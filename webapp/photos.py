"""Photos, named by the SHA-256 of their bytes and stored unchanged."""

import io
import warnings

from PIL import ExifTags, Image, ImageOps

from . import attached
from .core.errors import CoreError

MAX_BYTES = 4 * 1024 * 1024
# Phones shrink before they send; beyond this a picture is a burden on whoever opens it.
MAX_PIXELS = 24_000_000
THUMB_PIXELS = 320

# A redrawn picture holds none of these. Maker notes and both kinds of editors' notes may tell the place as well.
_HIDING_PLACES = ("xmp", "photoshop", "comment", "mpoffset")


def check(body: bytes):
    """Refuse bytes that are not a plain JPEG; CoreError says why."""
    if len(body) > MAX_BYTES:
        raise CoreError("photo-large", "photo", {"most": f"{MAX_BYTES // 1024 // 1024} MB"})
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            with Image.open(io.BytesIO(body), formats=["JPEG"]) as picture:
                if picture.width * picture.height > MAX_PIXELS:
                    raise _too_many_pixels()
                hidden = _hides_something(picture)
                picture.load()
    except CoreError:
        raise
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise _too_many_pixels() from None
    except Exception:
        # A damaged picture can fail anywhere in the decoder, with any error.
        raise CoreError("photo-kind", "photo") from None
    if hidden or not body.rstrip(b"\0").endswith(b"\xff\xd9"):
        raise CoreError("photo-hidden", "photo")


def _too_many_pixels():
    return CoreError("photo-large", "photo", {"most": f"{MAX_PIXELS // 1_000_000} megapixels"})


def _hides_something(picture):
    if any(key in picture.info for key in _HIDING_PLACES):
        return True
    exif = picture.getexif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    return bool(exif.get_ifd(ExifTags.IFD.GPSInfo)) or ExifTags.Base.MakerNote in details \
        or ExifTags.Base.UserComment in details


STORE = attached.Store("photos", "photo", ".jpg", "image/jpeg", check)
blueprint = STORE.blueprint


def _thumb(name):
    path = attached.path_of("thumbs", name, ".jpg")
    if not path.exists():
        with Image.open(STORE.path(name)) as picture:
            small = ImageOps.exif_transpose(picture)
            small.thumbnail((THUMB_PIXELS, THUMB_PIXELS))
            out = io.BytesIO()
            small.convert("RGB").save(out, "JPEG", quality=80)
        attached.write(path, out.getvalue())
    return path


@blueprint.get("/<name>/thumb")
def thumb(name):
    return STORE.send(name, _thumb(name) if STORE.held(name) else None)
