"""What a browser says it is, in a few plain words for the owner; a hint, never a proof."""

# The first that is found counts: a phone's line names its elders too ("Linux; Android", "like Mac OS X").
FAMILIES = (
    ("iphone", "an iPhone"),
    ("ipad", "an iPad"),
    ("android", "an Android phone"),
    ("cros", "a Chromebook"),
    ("windows", "a Windows computer"),
    ("macintosh", "a Mac"),
    ("linux", "a Linux computer"),
)


def agent_in_words(agent: str) -> str:
    """"an Android phone", or that it doesn't say."""
    lower = agent.lower()
    return next((words for mark, words in FAMILIES if mark in lower), "something that doesn’t say what it is")
