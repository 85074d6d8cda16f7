"""What every page says to the browser about itself, whichever host answers."""

POLICY = "; ".join([
    "default-src 'self'", "script-src 'self' 'wasm-unsafe-eval'", "style-src 'self'", "img-src 'self' blob: data:",
    "media-src 'self' blob:", "connect-src 'self'", "worker-src 'self'", "object-src 'none'", "base-uri 'none'",
    "form-action 'self'", "frame-ancestors 'none'"])

# No Strict-Transport-Security: it would hold for every port of the name and so close the plain page on which new
# phones get the workshop's certificate.
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(self), geolocation=()",
    "Cross-Origin-Opener-Policy": "same-origin",
}
