"""The session's cookie."""

from coilwright.accounts import ended_cookie, session_cookie


def test_the_cookie_over_tls_is_for_this_host_alone() -> None:
    # RFC 6265bis, 4.1.3.2: a name with __Host- needs Secure, the path "/" and no domain.
    cookie = session_cookie("token", secure=True)
    assert cookie.name.startswith("__Host-")
    assert (cookie.secure, cookie.path) == (True, "/")
    assert not hasattr(cookie, "domain")


def test_no_script_and_no_other_site_gets_it() -> None:
    for secure in (True, False):
        cookie = session_cookie("token", secure=secure)
        assert (cookie.http_only, cookie.same_site) == (True, "strict")
        assert cookie.max_age_s is None


def test_on_plain_loopback_it_has_no_prefix_that_the_browser_would_refuse() -> None:
    cookie = session_cookie("token", secure=False)
    assert (cookie.name, cookie.secure) == ("coilwright-session", False)


def test_the_cookie_that_ends_it_has_the_same_name_and_no_value() -> None:
    for secure in (True, False):
        begun, ended = session_cookie("token", secure=secure), ended_cookie(secure=secure)
        assert (ended.name, ended.path) == (begun.name, begun.path)
        assert (ended.value, ended.max_age_s) == ("", 0)
