"""What every answer passes: only this machine may ask, and nothing foreign may load."""

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from coilwright.web.loopback import is_loopback

CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "connect-src 'self'",
        "font-src 'self'",
        "img-src 'self'",
        "script-src 'self'",
        "style-src 'self'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    # Pages show a patient: nothing of them stays in a browser's cache.
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}


class Guard:
    """ASGI wrapper: refuses foreign host names and puts the protective headers on each answer.

    A page elsewhere can point a name of its own at 127.0.0.1; asking for the host by which the
    browser came here keeps such pages from reading the case.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        if is_loopback(_host_name(Headers(scope=scope).get("host", ""))):
            await self.app(scope, receive, send_guarded)
        else:
            refusal = PlainTextResponse("This server answers to this machine only.\n", 421)
            await refusal(scope, receive, send_guarded)


def _host_name(host: str) -> str:
    """The name in a Host header, without its port (RFC 9110, 7.2)."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0]
