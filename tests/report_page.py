"""A page of the report, taken apart."""

from html.parser import HTMLParser

VOID = {"meta", "br", "input"}
PHRASING = {"a", "b", "br", "em", "strong", "span"}  # all that a paragraph may hold here


class Page(HTMLParser):
    """A report taken apart; raises AssertionError where a tag is not closed in its order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.requests: list[str] = []
        self.style = ""
        self.scripts: list[str] = []
        self.said = ""
        self.feed(text)
        self.close()
        assert not self.open, f"never closed: {self.open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        facts = dict(attrs)
        assert "p" not in self.open or tag in PHRASING, f"<{tag}> ends the paragraph that it stands in"
        self.tags.add(tag)
        self.ids += [facts["id"] or ""] if "id" in facts else []
        self.links += [facts["href"] or ""] if tag == "a" else []
        self.requests += [name for name in facts if name in {"src", "srcset", "action", "data", "poster"}]
        self.requests += [name for name in facts if name.startswith("on")]
        self.requests += [
            name
            for name in facts
            if name in ("href", "xlink:href") and tag != "a" and not (facts[name] or "").startswith("#")
        ]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, (
            f"</{tag}> while {self.open[-3:]} are open, near line {self.getpos()}"
        )
        self.open.pop()
        self.said += "" if tag in PHRASING else " "

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] == "style":
            self.style += data
        elif self.open and self.open[-1] == "script":
            self.scripts.append(data)
        else:
            self.said += data
