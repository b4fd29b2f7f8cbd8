'''The rules that the loader holds a file to: one place each, with words, mend and example.

A finding of the loader is made by :func:`finding_of`, which knows no rule but these; ``explain``
and the manual print them beside the checks. Where a file does not keep to one,
the finding has the place and the words of the case; its mend is the rule's own where the case
has no better one.
'''

from __future__ import annotations

import enum
from typing import NamedTuple

from reportgen.record.finding import Finding, Position, Severity, visible


class RuleGroup(enum.Enum):
    """What a rule is about; the examples of each group are read in another way."""

    FILE = "The file as a whole"
    YAML = "The YAML of the file"
    CONTENT = "The values of the fields"
    TOOL = "The tool itself"


class Rule(NamedTuple):
    """One rule.

    ``fails`` and ``passes`` are a file's lines: of YAML by themselves, of content laid over the
    example record (``brewery`` and ``stock`` over those files). Of a rule about a whole file they
    say in words what cannot be shown as lines.
    """

    name: str
    about: RuleGroup
    title: str
    text: str
    fix: str
    fails: str
    passes: str
    severity: Severity = Severity.ERROR
    of_name: bool = False
    """What it says of a name holds wherever that stands."""


_QUOTES = "put the whole text in quotes"
_LINE_UP = "line it up with the lines it belongs to"
_SAVE = "save the file as UTF-8: in the editor, Save with encoding (or Save as), UTF-8"

_RULES = (
    # ---- the file
    Rule(
        "missing-file", RuleGroup.FILE, "There is no such file",
        "A file that was named, or brewery.yaml or stock.yaml, is not there.",
        "bring it back, as with `git checkout -- FILE`; an archive begun with `reportgen start "
        "FOLDER` has one of each",
        "a link to a file that was moved", "a link to one that is there",
    ),
    Rule(
        "unreadable", RuleGroup.FILE, "The file may not be read",
        "The operating system refuses to read it, for its permissions or a faulty disk.",
        "allow reading it (its permissions)",
        "a file without permission to read it", "a file that you can open in an editor",
    ),
    Rule(
        "not-a-file", RuleGroup.FILE, "A folder, or a device, in the place of a file",
        "Something that is not a file has the name of a record.",
        "give the folder a name without .yaml; records in it are read as before",
        "a folder 2026-01.yaml", "a folder 2026 with a file 2026-01.yaml in it",
    ),
    Rule(
        "file-ending", RuleGroup.FILE, "A record whose name does not end in .yaml",
        "Editors and mail programs add an ending of their own, or write it in capitals; such a "
        "file would be skipped without a message.",
        "rename it to end in .yaml",
        "2026-01.yaml.txt", "2026-01.yaml",
    ),
    Rule(
        "file-name", RuleGroup.FILE, "A file that is not named for its batch",
        "A record is found by its name: it is the batch id and .yaml.",
        "rename the file, or correct the id",
        "batch: 2026-01 in a file 2026-10.yaml", "batch: 2026-01 in 2026-01.yaml",
    ),
    Rule(
        "house-file", RuleGroup.FILE, "A brewery.yaml or stock.yaml under another name",
        "Of each there is one, in the archive's own folder; every other YAML file is a record. "
        "Older states of it are in git, and figures that changed on a day go under `since`.",
        "give the copy an ending other than .yaml, such as .bak, or delete it",
        "a copy `stock old.yaml`, or stock.yaml in the folder 2026", "a copy `stock.bak`",
    ),
    Rule(
        "same-batch", RuleGroup.FILE, "A batch id given twice",
        "Two files have one batch id, often a copy whose id was not changed; the one in the folder "
        "of its year counts, else the first by name. An id in capitals is the same id, since many "
        "systems cannot distinguish the files.",
        "give one of the two another id",
        "batch: 2026-01 in 2026-01.yaml and in a copy of it", "each id in one file",
    ),
    Rule(
        "link-out", RuleGroup.FILE, "A link to a file outside the archive",
        "All that an archive uses must be in it. Otherwise a copy of it is incomplete.",
        "put the file itself here",
        "a link to ../elsewhere/2026-01.yaml", "the file, or a link to one in the archive",
    ),
    Rule(
        "too-large", RuleGroup.FILE, "A file of more than two megabytes",
        "A record has some ten thousand bytes; this is another file, or a picture in it.",
        "check that it is the file you meant; keep photographs and long texts in files beside it",
        "a photograph named 2026-01.yaml", "a record, with the photograph beside it",
    ),
    Rule(
        "encoding", RuleGroup.FILE, "A file saved as UTF-16 or UTF-32",
        "Text is read as UTF-8 only.", _SAVE,
        "a file saved as Unicode by an editor", "the same saved as UTF-8",
    ),
    Rule(
        "not-utf-8", RuleGroup.FILE, "A byte that is not UTF-8",
        "The file was saved in an older encoding, and letters with accents are not what they "
        "were.", _SAVE,
        "a file saved as Latin-1 or ANSI", "the same saved as UTF-8",
    ),
    Rule(
        "binary", RuleGroup.FILE, "A zero byte in the file",
        "It is not text, or it was damaged when it was copied or the disk was full.",
        "restore the last good copy",
        "a file with a zero byte in it", "plain text",
    ),
    Rule(
        "merge-conflict", RuleGroup.FILE, "A merge that was not settled",
        "git put two versions of some lines into the file, between marks. One of them is right.",
        "keep the version that is right and delete the lines of marks",
        "<<<<<<< ours\nname: Bitter\n=======\nname: Best Bitter\n>>>>>>> theirs",
        "name: Best Bitter",
    ),
    Rule(
        "tab-indent", RuleGroup.FILE, "A line indented with a tab",
        "YAML allows spaces only, since a tab is of another width in each editor.",
        "replace the tab by spaces (set the editor to insert spaces)",
        "plan:\n\tname: Bitter", "plan:\n  name: Bitter",
    ),
    Rule(
        "space-indent", RuleGroup.FILE, "A line indented with a special space",
        "A no-break space looks like a space but is not one. It comes with text from a web page.",
        "delete the space before the text and type it again",
        "plan:\n\u00a0\u00a0name: Bitter", "plan:\n  name: Bitter",
    ),
    Rule(
        "control-character", RuleGroup.FILE, "A character that cannot be seen",
        "Control characters, and spaces of no width, come with text from elsewhere.",
        "delete it",
        "name: Bit\u200bter", "name: Bitter",
    ),
    Rule(
        "bidi-control", RuleGroup.FILE, "A character that turns the direction of the text",
        "The line looks different from what it contains.", "delete it",
        "name: \u202eBitter", "name: Bitter",
    ),
    # ---- YAML
    Rule(
        "empty-file", RuleGroup.YAML, "Nothing is written in the file",
        "It is empty, or has comments only.",
        "begin a record with `reportgen new ID`, an archive with `reportgen start FOLDER`",
        "# nothing yet", "format: 1",
    ),
    Rule(
        "yaml-syntax", RuleGroup.YAML, "A line that is not YAML",
        "The parser stops here, for a cause that no other rule explains.",
        "compare it with a line above",
        "a line that nothing here explains", "name: Bitter",
    ),
    Rule(
        "colon-space", RuleGroup.YAML, "No space after a colon",
        "Without it key and value are one word.", "put a space after the colon",
        "name:Bitter", "name: Bitter",
    ),
    Rule(
        "colon-in-text", RuleGroup.YAML, "A colon and a space in unquoted text",
        "In YAML they begin a value.",
        f"{_QUOTES}, or write | after the colon and the text on the lines below, indented",
        "remarks: Sparge: slow", 'remarks: "Sparge: slow"',
    ),
    Rule(
        "no-colon", RuleGroup.YAML, "A line without a colon",
        "A key, a colon and a value are expected there.",
        "put a colon after the key; a text of several lines is begun with |",
        "name: Bitter\nvolume\nformat: 1", "name: Bitter\nvolume: 40 L\nformat: 1",
    ),
    Rule(
        "dash-space", RuleGroup.YAML, "No space after a dash",
        "Without it the line is not an item of a list.", "put a space after the dash",
        "rests:\n  -mash\n  -boil", "rests:\n  - mash\n  - boil",
    ),
    Rule(
        "list-place", RuleGroup.YAML, "A list on the line of its key",
        "Each item of a list has its own line.",
        "begin the list on the next line; text that begins with a dash is put in quotes",
        "rests: - mash", "rests:\n  - mash",
    ),
    Rule(
        "indent", RuleGroup.YAML, "A line that does not line up",
        "The spaces before a line say what it belongs to.", _LINE_UP,
        "plan:\n    name: Bitter\n  volume: 40 L", "plan:\n  name: Bitter\n  volume: 40 L",
    ),
    Rule(
        "tab", RuleGroup.YAML, "A tab where a space is wanted",
        "After a dash or a colon only a space counts.", "replace it by spaces",
        "rests:\n  -\tmash", "rests:\n  - mash",
    ),
    Rule(
        "block-text", RuleGroup.YAML, "A text of several lines that is not indented",
        "The text under | or > begins on the next line, further in than its key.",
        "begin the text on the next line, and indent every line of it",
        "notes: |\nslow run-off", "notes: |\n  slow run-off",
    ),
    Rule(
        "open-quote", RuleGroup.YAML, "Quotes that are never closed",
        "Everything below would belong to the text.", "close the quotes",
        'name: "Bitter\nformat: 1', 'name: "Bitter"\nformat: 1',
    ),
    Rule(
        "after-quote", RuleGroup.YAML, "Text after a closing quote",
        "The whole value is in quotes, or none of it.", "put the closing quote at the end",
        'name: "Best" Bitter', "name: '\"Best\" Bitter'",
    ),
    Rule(
        "escape", RuleGroup.YAML, "A backslash before a letter that has no meaning there",
        "In double quotes a backslash begins a special character, such as \\n.",
        "use single quotes, or write the backslash twice",
        'notes: "C:\\labels"', "notes: 'C:\\labels'",
    ),
    Rule(
        "bracket", RuleGroup.YAML, "A bracket that is not closed, or closes nothing",
        "A comma may be missing between the items.",
        "close it; text that begins with a bracket is put in quotes",
        "- {malt: pale, amount: 7 kg", "- {malt: pale, amount: 7 kg}",
    ),
    Rule(
        "after-bracket", RuleGroup.YAML, "Text after a closing bracket",
        "A value in brackets ends with them.", _QUOTES,
        "name: [Best] Bitter", 'name: "[Best] Bitter"',
    ),
    Rule(
        "start-character", RuleGroup.YAML, "Unquoted text that begins with a sign of YAML",
        "The signs % @ ` | > & * at the beginning mean something else.", _QUOTES,
        "remarks: *slow* run-off", 'remarks: "*slow* run-off"',
    ),
    Rule(
        "alias", RuleGroup.YAML, "Text that begins with a star",
        "In YAML it repeats a value named elsewhere; a file here means what it shows.", _QUOTES,
        "name: *bitter", "name: bitter",
    ),
    Rule(
        "anchor", RuleGroup.YAML, "A value that is given a name with &",
        "Names of values are not read here; a file means what it shows.",
        "delete it, and write the value out where it is repeated",
        "name: &beer Bitter", "name: Bitter",
    ),
    Rule(
        "tag", RuleGroup.YAML, "A tag of YAML",
        "A word that begins with ! tells a program what to make of a value; here the field does.",
        "delete it; text that begins with ! is put in quotes",
        "name: !!str Bitter", "name: Bitter",
    ),
    Rule(
        "directive", RuleGroup.YAML, "A line that begins with %",
        "It instructs the parser and is not read here.", "delete the line",
        "%YAML 1.2\n---\nname: Bitter", "name: Bitter",
    ),
    Rule(
        "several-documents", RuleGroup.YAML, "Two documents in one file",
        "A line of --- or ... begins another; a file holds one.",
        "put the second part into a file of its own",
        "name: Bitter\n---\nname: Stout", "name: Bitter",
    ),
    Rule(
        "merge-key", RuleGroup.YAML, "A key <<",
        "In YAML it copies the keys of another mapping. It is not read here. A plan starts "
        "from another with `like`.", "write the keys out",
        "plan:\n  <<: {name: Bitter}", "plan:\n  name: Bitter",
    ),
    Rule(
        "duplicate-key", RuleGroup.YAML, "A key given twice",
        "The first one counts. Only you know which was meant.", "delete one of the two",
        "name: Bitter\nname: Stout", "name: Bitter",
    ),
    Rule(
        "key-shape", RuleGroup.YAML, "A key that is not a word",
        "A key is a word, followed by a colon.", "write the key, or put the text in quotes",
        "[a, b]: Bitter", "name: Bitter",
    ),
    Rule(
        "long-text", RuleGroup.YAML, "A text that is too long",
        "No remark of a brew day is so long.", "keep long texts in a file beside it",
        "a text of more letters than a book", "a remark",
    ),
    Rule(
        "too-deep", RuleGroup.YAML, "Lists in lists in lists",
        "No record has so many levels.", "delete the brackets or dashes that are too many",
        "a: " + "[" * 40 + "]" * 40, "a: [b]",
    ),
    Rule(
        "too-many-values", RuleGroup.YAML, "More values than any record has",
        "It is another file, or one that was copied into itself.",
        "check that it is the file you meant",
        "a list of a hundred thousand lines", "a record",
    ),
    Rule(
        "comment", RuleGroup.YAML, "A text that is cut by a #",
        "From a space and a # on a line is a comment and is not read.",
        "put the whole text in quotes; if it is a comment, put a space after the #",
        "remarks: keg #4 leaks", 'remarks: "keg #4 leaks"', Severity.MINOR,
    ),
    # ---- content
    Rule(
        "format", RuleGroup.CONTENT, "A format that this version does not read",
        "The first line of each file names its format. The rest of this file is not checked.",
        "write format: 1",
        "format: 2", "format: 1",
    ),
    Rule(
        "unknown-key", RuleGroup.CONTENT, "A key that no field has",
        "It is mistyped, or a level too high or too low. Its value is not used.",
        "correct it, delete it, or move the text to `notes` or `remarks`",
        "plan:\n  fermenter_volum: 40 L", "plan:\n  fermenter_volume: 40 L",
    ),
    Rule(
        "missing-key", RuleGroup.CONTENT, "A key that must be there",
        "Without it the rest cannot be computed.", "write the line",
        "brew_day:\n  mash: {started: 09:20}",
        "brew_day:\n  date: 2026-03-14\n  mash: {started: 09:20}",
    ),
    Rule(
        "empty", RuleGroup.CONTENT, "Nothing after a key",
        "A reading may be left blank until it is taken; other fields are filled in or left out.",
        "fill it in or delete the line",
        "name: '  '", "name: Bitter",
    ),
    Rule(
        "shape", RuleGroup.CONTENT, "A list for a value, or a value for a list",
        "Each field holds one value, a list, or a mapping of keys.",
        "write it as in the example of the field",
        "name: [Best, Bitter]", "name: Best Bitter",
    ),
    Rule(
        "form", RuleGroup.CONTENT, "A word of another form",
        "Ids and names are used for files and links, so few characters are allowed. A missing "
        "reading is written in one of two ways.", "write it in the form that is expected",
        "batch: a/b", "batch: 2026-01",
    ),
    Rule(
        "word", RuleGroup.CONTENT, "A word that is not among the choices",
        "The field takes one of a few words.", "choose one of the list",
        "brewery:\n  paper: A0", "brewery:\n  paper: A4",
    ),
    Rule(
        "quantity", RuleGroup.CONTENT, "A number that is not a quantity of the field",
        "It has no unit, a unit of another kind or two meanings, or it is beyond what it "
        "can be. A tolerance, a limit and the figures of an instrument are of the kind of what "
        "they are for.", "write it with its unit, as in the example",
        "plan:\n  fermenter_volume: '40'", "plan:\n  fermenter_volume: 40 L",
    ),
    Rule(
        "date", RuleGroup.CONTENT, "A date that is not in the calendar",
        "Days are written year, month, day, so that no day is mistaken for another.",
        "write it as 2026-03-14",
        "brew_day:\n  date: 14.3.2026", "brew_day:\n  date: 2026-03-14",
    ),
    Rule(
        "time", RuleGroup.CONTENT, "A time that is not a time of day",
        "Times are written from 00:00 to 23:59.", "write it as 09:20",
        "brew_day:\n  date: 2026-03-14\n  mash: {started: 25:10}",
        "brew_day:\n  date: 2026-03-14\n  mash: {started: 09:20}",
    ),
    Rule(
        "unknown-name", RuleGroup.CONTENT, "A name that nothing has",
        "Malts, instruments, batches and so on are written as they are named in their files.",
        "correct the name, or add it to that file",
        "plan:\n  kit: no_such_kit", "name: Bitter", of_name=True,
    ),
    Rule(
        "plan-circle", RuleGroup.CONTENT, "Plans that start from each other",
        "Following `like` from plan to plan comes back to the first.",
        "write out the plan of one of them",
        "plan:\n  like: 2026-01", "name: Bitter",
    ),
    Rule(
        "plan-not-read", RuleGroup.CONTENT, "The plan that this one starts from cannot be read",
        "Its plan or wort comes from a record with errors, so nothing is computed.",
        "correct the other record",
        "plan:\n  like: 2026-02   # a record with an error", "plan:\n  like: 2026-03",
    ),
    Rule(
        "since-days", RuleGroup.CONTENT, "Changes of nothing, or not in the order of their days",
        "Each entry of `since` says what is valid from its day on. The earliest comes first, one "
        "per day.",
        "put the entries in order",
        "brewery:\n  kits:\n    main:\n      since:\n"
        "        - {from: 2026-05-01, conversion: 90 %}\n"
        "        - {from: 2026-04-01, conversion: 91 %}",
        "brewery:\n  kits:\n    main:\n      since:\n"
        "        - {from: 2026-04-01, conversion: 91 %}\n"
        "        - {from: 2026-05-01, conversion: 90 %}",
    ),
    Rule(
        "since-never-held", RuleGroup.CONTENT, "A value that was valid for no batch",
        "Each batch uses what was valid when its sheet was issued, or else on its brew day. A "
        "value that was replaced before the first batch, or between two, is used by none.",
        "correct the day, or delete the value that is not used",
        "brewery:\n  kits:\n    main:\n      since:\n"
        "        - {from: 2026-01-01, conversion: 90 %}\n"
        "brew_day: {date: 2026-03-14}",
        "brewery:\n  kits:\n    main:\n      since:\n"
        "        - {from: 2026-04-01, conversion: 90 %}\n"
        "brew_day: {date: 2026-03-14}",
        Severity.NOTE,
    ),
    Rule(
        "since-far-ahead", RuleGroup.CONTENT, "A day long after the last batch",
        "The tool does not read the clock. A change, an instrument check, an analysis or a "
        "delivery more than five years after the last batch most likely has a mistyped year.",
        "correct the year",
        "brewery:\n  kits:\n    main:\n      since: [{from: 2062-04-01, conversion: 90 %}]\n"
        "brew_day: {date: 2026-03-14}",
        "brewery:\n  kits:\n    main:\n      since: [{from: 2026-04-01, conversion: 90 %}]\n"
        "brew_day: {date: 2026-03-14}",
        Severity.NOTE,
    ),
    # ---- the tool
    Rule(
        "internal-failure", RuleGroup.TOOL, "The tool itself failed",
        "The record may be sound: the fault is in reportgen. The other records are still checked, "
        "and the exit code is 3.",
        "undo your last change of this file, and report this line: it holds nothing of your record",
        "", "",
    ),
    Rule(
        "aim-out-of-reach", RuleGroup.TOOL, "Amounts that cannot be proposed",
        "No amounts within their bounds meet all aims of the plan, or the plan stops the "
        "forecast; only `propose` asks.",
        "free another amount, or change the aim",
        "", "", Severity.MAJOR,
    ),
)  # fmt: skip

RULES = {rule.name: rule for rule in _RULES}
"""Every rule by its name."""


def shown(example: str) -> str:
    """Return the lines of an example with what cannot be seen in them written as an escape."""
    return "\n".join(visible(line.replace("\t", "\\t")) for line in example.split("\n"))


def finding_of(
    rule: str,
    position: Position,
    message: str,
    expected: str = "",
    remedy: str | None = None,
    line: str = "",
) -> Finding:
    """Return the finding for a rule that is not kept, with the rule's severity.

    ``remedy`` None is the rule's own mend; empty where none would help in the case at hand.

    KeyError for a rule that is not in the table.
    """
    known = RULES[rule]
    fix = known.fix if remedy is None else remedy
    return Finding(rule, known.severity, position, message, expected, fix, line)
