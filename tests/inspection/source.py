"""Where an outside check's value comes from: a fixed vocabulary, so that no row can flatter itself."""

from dataclasses import dataclass

EXAMPLE = "published worked example"
STANDARD = "standard's table"
CERTIFIED = "certified data set"
LIBRARY = "reference library"
METHOD = "independent method of ours"
HANDED_OVER = "handed-over value"
PRACTICE = "common practice"

KINDS = {
    EXAMPLE: "someone printed this figure: a book, a lecture, a maker's page, an exercise with its answer",
    STANDARD: "a table or formula of a standard, a handbook or an open data set made from one",
    CERTIFIED: "data with results that an institute certifies",
    LIBRARY: "a general library, written by others, ran the same case here; its version is named",
    METHOD: "another way to the same figure, run or worked by hand for this test",
    HANDED_OVER: "worked out elsewhere, outside this code, and handed over with a note on how",
    PRACTICE: "the trade's habit; no source",
}
# Someone outside computed or printed these; the others rest on our own algebra or on habit.
BY_OTHERS = (EXAMPLE, STANDARD, CERTIFIED, LIBRARY)

READ, EXCERPT, MEMORY = "read", "excerpt", "from memory"
WORKED, RUN_HERE, NO_SOURCE = "worked out", "run here", "no source"

SEEN = {
    READ: "the page, table or file itself was read, by us or by whoever handed the value over",
    EXCERPT: "a passage on a third-party page was read, not the document itself",
    MEMORY: "nobody here has seen the document: it wants checking against it",
    WORKED: "derived by hand or computed; there is no document",
    RUN_HERE: "computed in the same test run",
    NO_SOURCE: "habit; there is no document",
}


@dataclass(frozen=True)
class Source:
    """A kind from the vocabulary, what exactly it is, how it was seen, and what its figures are good for."""

    kind: str
    text: str
    seen: str
    accuracy: str = ""

    def __post_init__(self):
        if self.kind not in KINDS or self.seen not in SEEN or not self.text.strip():
            raise ValueError(f"not a source: {self.kind!r}, {self.seen!r}, {self.text!r}")


def source_of(row: dict) -> Source:
    """Return the source of a check that is kept as data; its tolerance was settled with it."""
    return Source(
        row["kind"], f"{row['source']} [{row['id']}]", row["seen"], "the tolerance came with the value"
    )


def by_hand(how: str) -> Source:
    """Return the source of a figure that was worked by hand, or by a loop or sum within the test."""
    return Source(METHOD, how, WORKED, "a hand calculation: the tolerance was set when the test was written")


def run_here(how: str, accuracy: str) -> Source:
    """Return the source of a figure that another method of ours computes in the same run."""
    return Source(METHOD, how, RUN_HERE, accuracy)


def library(name: str, version: str, used: str, accuracy: str) -> Source:
    """Return the source of a figure that a general library computes in the same run."""
    # The version is told apart by its first two numbers, so that a repaired release changes no row.
    release = ".".join(version.split(".")[:2])
    return Source(LIBRARY, f"{name} {release}: {used}", RUN_HERE, accuracy)
