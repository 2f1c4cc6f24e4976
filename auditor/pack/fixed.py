"""What every pack says, whatever the site: cautions, what no schedule shows, how it was made, the form."""

# Whoever reads one page of a pack alone must meet these.
CAUTIONS = (
    "Programmed is not lit. A schedule shows what is programmed, never that a lamp is lit or dark.",
    "Never switch off egress, emergency, security or care lighting on the strength of this document; it "
    "proposes less light for none of them.",
    "Exterior lighting at cash machines, exits and public ways may be required by other laws; confirm before "
    "any cut.",
    "Where there may be a duty to light (a law, a lease, an insurer, people still there), ask whoever holds "
    "it first, and write the answer down.",
    "Wiring and enclosures are for qualified people only, de-energised and locked out.",
    "The code that was adopted where the building stands, with its amendments, the authority having "
    "jurisdiction and licensed practice decide. This document is prepared for them and judges nothing in "
    "their place.",
)

# Facts of an export end here; functional testing begins.
CANNOT_SHOW = (
    "whether relays, contactors and dimmers obey, and which luminaires a channel really feeds",
    "the position of hand switches and bypasses since the export was read",
    "where a photocontrol looks, at what level it switches, and whether it has drifted",
    "what an occupancy sensor covers, and its true time-out",
    "whether the battery of a device holds",
    "where an override is, how it is labelled, and whether it needs a key",
    "emergency transfer, delivered light, true watts, and what a dimmed level draws",
    "whether the stored program is the one that runs, and whether people keep to the hours",
    "how light follows daylight where it is dimmed by it",
    "which edition was in force at the permit, and whether an exception applies",
)

METHOD = (
    "Every program was run through the period, second by second, on its own device's clock, with the sun of "
    "the place that the device believes it is at. What the circuits do was held against the sun, the time "
    "and the opening hours of the site.",
    "Each item of the edition was then decided by a query: consistent, where all that the item asks for and "
    "that a schedule can show is shown; contrary, where what is programmed or set cannot be what the item "
    "asks for; insufficient data, where the export does not tell; not applicable, where the edition does not "
    "ask, the export has nothing of the kind, or somebody claims an exemption.",
    "An item comes out as its loudest subject: contrary before insufficient, insufficient before consistent. "
    "What would be consistent becomes insufficient where the export is no sound base for it: a wrong clock, "
    "a hand switch, an old export, steps that conflict, rejected rows.",
    "Up to 5 minutes of light at the edge of a window decide nothing: clocks are allowed so much. Connected "
    "load is summed to a thousandth of a watt. A dimmed level is not power, and no curve was given.",
    "Codes are told in own words and are no legal text. Each limit and window has its mark: seen in a public "
    "copy, or from memory, check. What rests on memory says so beside it; hold it against the adopted text. "
    "A figure of low confidence lets nothing count as consistent.",
)

# Fields of a functional-test form, for the tester to fill in.
FORM = (
    "Tester, and qualification",
    "Date and time; reference clock",
    "All returned to normal (time, by whom)",
    "State found before the test, and expected response",
    "Actual response",
    "Deficiency, and when to test again",
)
LONG_ANSWERS = FORM[3:]
SIGNATURES = ("Prepared by", "Site representative", "Tested by", "Reviewed by")
