"""Fingers on a picture to set points on (static/js/picture-stage.js), and a phone without network to do it on."""

import contextlib

from tests.browser import flow

SIZE = (1600, 1200)


@contextlib.contextmanager
def phone_without_network(chromium, data):
    """Yield a signed-in phone that holds all it needs, its server gone."""
    with flow.serving(data) as server:
        phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
        phone.sign_in("mara")
        phone.wait_ready()
        server.end()
        yield phone
        phone.context.close()


class Finger:
    """One or two fingers on the picture, wherever it has been moved to; places are in its pixels."""

    def __init__(self, phone):
        self.page = phone.page
        self.session = phone.context.new_cdp_session(phone.page)

    def at(self, point):
        box = self.page.locator("#tap-stage [data-view]").bounding_box()
        return box["x"] + point[0] * box["width"] / SIZE[0], box["y"] + point[1] * box["height"] / SIZE[1]

    def tap(self, point):
        self.page.locator("#tap-stage").scroll_into_view_if_needed()
        self.page.touchscreen.tap(*self.at(point))

    def touch(self, kind, *points):
        self.session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)]})

    def drag(self, start, goal):
        """Take what is at `start` to `goal`; the finger stays down."""
        (x, y), (to_x, to_y) = self.at(start), self.at(goal)
        self.touch("touchStart", (x, y))
        for k in range(1, 5):
            self.touch("touchMove", (x + (to_x - x) * k / 4, y + (to_y - y) * k / 4))

    def come_closer(self, middle, times=3):
        """From the whole picture two fingers spread about a place of it; then both take it to the middle."""
        self.page.press("[data-whole]", "Enter")
        self.page.locator("#tap-stage").evaluate("part => part.parentElement.scrollIntoView({ block: 'start' })")
        box = self.page.locator("#tap-stage").bounding_box()
        x, y = self.at(middle)
        half = 20 * times
        x, y = min(max(x, box["x"] + half + 5), box["x"] + box["width"] - half - 5), min(max(y, box["y"] + 10), box["y"] + box["height"] - 10)
        self.touch("touchStart", (x - 20, y))
        self.touch("touchStart", (x - 20, y), (x + 20, y))
        for k in range(1, 5):
            apart = 20 + (half - 20) * k / 4
            self.touch("touchMove", (x - apart, y), (x + apart, y))
        for k in range(1, 5):
            dx, dy = (box["x"] + box["width"] / 2 - x) * k / 4, (box["y"] + box["height"] / 2 - y) * k / 4
            self.touch("touchMove", (x + dx - half, y + dy), (x + dx + half, y + dy))
        self.touch("touchEnd")
