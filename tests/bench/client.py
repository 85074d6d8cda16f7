"""A phone without a screen: it signs in and speaks the sync protocol, over one kept connection."""

import http.client
import json
import ssl
import urllib.parse


class Client:
    """One device of the workshop; several may run in threads, each with a client of its own."""

    def __init__(self, port, authority=None):
        """With `authority`, the certificate of the workshop's own, it speaks HTTPS and checks the server's."""
        if authority is None:
            self._connection = http.client.HTTPConnection("localhost", port, timeout=60)
        else:
            context = ssl.create_default_context(cafile=authority)
            self._connection = http.client.HTTPSConnection("localhost", port, timeout=60, context=context)
        self.cookie = ""

    def ask(self, method, path, body=None, kind="application/json"):
        """Return (status, headers, body)."""
        headers = {"Cookie": self.cookie} if self.cookie else {}
        if body is not None:
            headers["Content-Type"] = kind
        self._connection.request(method, path, body, headers)
        answer = self._connection.getresponse()
        return answer.status, answer.headers, answer.read()

    def sign_in(self, person, pin):
        """Make this client one of the workshop's devices."""
        form = urllib.parse.urlencode({"person": person, "pin": pin, "next": "/jobs"})
        status, headers, _body = self.ask("POST", "/signin", form, "application/x-www-form-urlencoded")
        if status != 303:
            raise RuntimeError(f"signing in was answered with {status}")
        self.cookie = headers["Set-Cookie"].partition(";")[0]

    def json(self, method, path, value=None):
        """Return the answer's JSON; any status but 200 is an error."""
        status, _headers, body = self.ask(method, path, None if value is None else json.dumps(value))
        if status != 200:
            raise RuntimeError(f"{path} was answered with {status}")
        return json.loads(body)

    def close(self):
        self._connection.close()
