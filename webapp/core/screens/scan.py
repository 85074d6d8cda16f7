"""Scanning a tag. The camera and the reader are the page's own; the core only says where tags lead."""

from .. import reply


def show(request, given):
    """Show the scan screen. Tags hold the shop's one permanent origin."""
    return reply.page("scan.html", {"title": "Scan a tag", "origin": given["shop"]["origin"]})
