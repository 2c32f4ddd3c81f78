"""In which kind of browser somebody signed in, in plain words and no finer than she needs to know it again."""

KINDS = (
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("Android", "an Android"),
    ("Windows", "a Windows computer"),
    ("Macintosh", "a Mac"),
    ("CrOS", "a Chromebook"),
    ("Linux", "a Linux computer"),
)
BROWSERS = (
    ("Firefox/", "Firefox"),
    ("FxiOS/", "Firefox"),
    ("Edg", "Edge"),
    ("SamsungBrowser/", "the phone's own browser"),
    ("OPR/", "Opera"),
    ("CriOS/", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)


def device_of(user_agent: str) -> str:
    """What a browser says of itself, without versions or models.

    >>> device_of("Mozilla/5.0 (Linux; Android 15; Pixel 9) AppleWebKit/537.36 Chrome/140.0 Mobile Safari/537.36")
    'Chrome on an Android phone'
    >>> device_of("Mozilla/5.0 (X11; Linux x86_64; rv:143.0) Gecko/20100101 Firefox/143.0"), device_of("curl/8")
    ('Firefox on a Linux computer', 'something else than a usual browser')
    """
    kind = next((words for sign, words in KINDS if sign in user_agent), "")
    browser = next((words for sign, words in BROWSERS if sign in user_agent), "")
    if kind == "an Android":
        kind += " phone" if "Mobile" in user_agent else " tablet"
    if browser and kind:
        return f"{browser} on {kind}"
    return browser or (f"a browser on {kind}" if kind else "something else than a usual browser")
