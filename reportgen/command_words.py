"""What is said of each verb: one line in the list of all, and the text of its own help page.

The manual shows the same words, and a test runs the examples.
"""

from __future__ import annotations

from msgspec import Struct


class VerbHelp(Struct, frozen=True):
    """The help page of a verb: ``line`` in the list, ``text`` below it, ``examples`` to type.

    An example is a command and what it does.
    """

    line: str
    text: str
    examples: tuple[tuple[str, str], ...]


VERBS: dict[str, VerbHelp] = {
    "start": VerbHelp(
        "begin an archive: a folder with brewery.yaml and stock.yaml to fill in",
        "Makes the folder and writes brewery.yaml (kit, instruments, liquors), stock.yaml (malts, "
        "hops, yeasts, salts), both with a sound example of every kind of entry and what belongs "
        "there as comments, a .gitignore, and in .reportgen/ the schemas that an editor reads. "
        "With --ci also a workflow that checks every push and builds what changed. Existing files "
        "are not changed.",
        (
            ("reportgen start my-brewery", "a folder to brew from"),
            ("reportgen start my-brewery --ci", "with a workflow for GitHub"),
        ),
    ),
    "schema": VerbHelp(
        "renew the schemas that an editor reads, and the first line of each file",
        "Writes the schemas of this version of the tool into .reportgen/ in the archive, with the "
        "names of your own stock, kit and batches, and points the first line of each file there: "
        "for an archive that was begun before, after an upgrade, or when a file has moved. Commit "
        "the folder. No other byte of a file changes, nothing is built again, and verify does not "
        "look at that line.",
        (("reportgen schema", "the current archive"),),
    ),
    "new": VerbHelp(
        "start a record and print its path",
        "Writes a new record into the folder of its year, with every section of a record: the plan "
        "with figures that suit the first kit, the sections of later days as comments. With --like "
        "it states only that it starts from the plan of another batch; with --kit or --volume as "
        "well it writes amounts that give the same beer on that kit, by its conversion, losses and "
        "evaporation, each with what it was before. It never overwrites.",
        (
            ('reportgen new 2026-11 --name "First Pale"', "from nothing"),
            ("reportgen new 2026-12 --like 2026-01", "the plan of another batch once more"),
            (
                "reportgen new 2026-13 --like 2026-01 --volume 30L",
                "the same beer in another size",
            ),
        ),
    ),
    "treat": VerbHelp(
        "propose salts and acid for a plan's liquor, as YAML to paste",
        "Searches the salts and the acid of stock.yaml for what brings the mash liquor to the ions "
        "and the mash to the pH that are asked for, in steps that the scale can weigh, and reports "
        "targets it cannot reach. Ions without a target are left free.",
        (
            (
                "reportgen treat 2026/2026-01.yaml --calcium 100 --sulfate 150 --mash-ph 5.4",
                "for a pale, dry beer",
            ),
        ),
    ),
    "propose": VerbHelp(
        "propose amounts that meet a plan's aims, as YAML to paste",
        "Changes the malts, hops, salts, acid, liquor and mash temperature of a plan until its own "
        "forecast gives what `aims` in the plan, or --aim, ask for, in steps that the scales can "
        "weigh. Each aim changes what a brewer would change for it: strength the malts in their "
        "proportions, colour the darker ones, bitterness the hops, dryness the mash temperature, "
        "ions the salts, pH the acid. --change and --hold decide otherwise. Prints the lines to "
        "paste and a table of before, after and aim. If an aim is out of reach, it says what binds "
        "and the nearest that can be had, and proposes nothing.\n\n"
        "With --swap it replaces one ingredient: a hop at equal bitterness and like aroma weight, "
        "a malt at equal strength and colour, a salt at an equal ion, a liquor at equal ions and "
        "pH.",
        (
            ("reportgen propose 2026/2026-10.yaml", "the aims of the plan"),
            (
                "reportgen propose 2026/2026-10.yaml --aim bitterness=30 --change hops[0]",
                "by one addition alone",
            ),
            ("reportgen propose 2026/2026-10.yaml --swap goldings=fuggle", "another hop"),
        ),
    ),
    "check": VerbHelp(
        "validate and run every check",
        "All mistakes are reported in one run, each with its file, line and column, "
        "what was expected and one way to fix it. brewery.yaml and stock.yaml are checked with all "
        "batches; what cannot be read in them is reported with any record. The path - stands for a "
        "record on standard input, as an editor hands it over before it is saved; it is taken "
        "instead of the file of the same batch.\n\n"
        "Forms: text for people; json, one object a line, files named from the archive; sarif "
        "(2.1.0) for code hosts and editors; annotations, one workflow command a line, for CI on "
        "GitHub. In the last two the files are named from where the git repository begins.",
        (
            ("reportgen check", "the whole archive"),
            ("reportgen check 2026/2026-01.yaml", "one record"),
            ("reportgen check - < 2026/2026-01.yaml", "what an editor holds"),
            ("reportgen check --fail-on major", "exit code 1 for what is major or worse only"),
            ("reportgen check --format sarif > findings.sarif", "for a code host"),
        ),
    ),
    "blanks": VerbHelp(
        "print the readings still missing, as YAML to paste",
        "Lists what a batch has no reading of, in the order of the sheet, nested as in the record, "
        "each with what belongs there. What this batch does not need, such as a keg pressure for "
        "bottles, is left out.",
        (("reportgen blanks 2026/2026-10.yaml", "what is still to be typed in"),),
    ),
    "sheet": VerbHelp(
        "print the working sheets as PDF",
        "Writes the weigh-out, brew-day, cellar, packaging and tasting sheets into build/sheets "
        "and prints their paths. --copy numbers a further copy, to tell apart two sheets on "
        "one table. --html makes each a page for a phone at the kettle: one file, no network. "
        "The pages can be written on: they give the verdict on each reading, "
        "ring at rests and additions, keep what is typed on the device and give it as "
        "YAML for the record. --tasting prints a tasting of up to six batches: codes and serving "
        "orders for who pours, a side for each assessor.",
        (
            ("reportgen sheet 2026/2026-10.yaml", "before the brew day"),
            ("reportgen sheet 2026/2026-10.yaml --copy 2 --paper Letter", "a second copy"),
            ("reportgen sheet 2026/2026-10.yaml --html", "the same for the phone"),
            ("reportgen sheet 2026/2026-10.yaml --lesson", "for a class or a friend at the kettle"),
            ("reportgen sheet 2026/2026-04.yaml 2026/2026-10.yaml --tasting 2026-12-05",
             "two beers, four friends"),
        ),
    ),
    "record": VerbHelp(
        "print the batch record as PDF, its source attached",
        "Writes the record of each batch that has been brewed into build/records, as PDF/A-3 with "
        "the YAML inside, for keeping. --working also writes how each number is computed, a "
        "document of its own. --card and --labels write a card and labels instead, of planned "
        "batches too. --html makes a page for a screen instead.",
        (
            ("reportgen record 2026/2026-01.yaml", "when the beer is packed"),
            ("reportgen record 2026/2026-01.yaml --working", "with the working of each number"),
            ("reportgen record 2026/2026-01.yaml --card", "a card for those who drink it"),
            ("reportgen record 2026/2026-01.yaml --labels 99x38", "a sheet of labels"),
        ),
    ),
    "build": VerbHelp(
        "build everything that changed: sheets and records",
        "Makes every document that is not there yet or whose record, brewery.yaml, stock.yaml, "
        "templates or tool have changed; takes away those of batches that are gone; writes "
        "build/SHA256SUMS. Without a path the pages of the ledger too. Batches that cannot be read "
        "are reported and skipped.",
        (
            ("reportgen build", "the whole archive"),
            ("reportgen build 2026/2026-01.yaml", "the documents of one batch"),
        ),
    ),
    "figures": VerbHelp(
        "print every expected and actual number",
        "One row a number: expected value, tolerance limits, corrected reading, its ±U, verdict "
        "and method. The table is in the units of brewery.yaml; CSV and JSON are in base units (L, "
        "kg, degC, SG, bar; a share is 0 to 1). The path - stands for a record on standard "
        "input.\n\n"
        "With --set it shows what another value in the plan would change, side by side, and leaves "
        "the file as it is. With --causes it shows what the uncertainty of each figure aimed at "
        "comes from, and what to measure better to halve it; the JSON has both U and causes.",
        (
            (
                "reportgen figures 2026/2026-10.yaml --set mash.rests[0].temperature=66C",
                "what if the mash is cooler",
            ),
            ("reportgen figures 2026/2026-10.yaml --causes", "what matters"),
            ("reportgen figures 2026/2026-01.yaml", "a table"),
            ("reportgen figures 2026/2026-01.yaml --base-units", "a table in L, kg and degC"),
            ("reportgen figures 2026/2026-01.yaml --format csv > figures.csv", "for a spreadsheet"),
            ("reportgen figures - --format json < 2026/2026-01.yaml", "for a program"),
        ),
    ),
    "explain": VerbHelp(
        "print the manual page of a check",
        "Says why the check is there, how to fix what it finds, where its limit comes from, with "
        "an example that passes and one that fails. Without a name it lists them all, and the "
        "rules that a file is held to before any check.",
        (
            ("reportgen explain gravity-rises", "one page"),
            ("reportgen explain colon-space", "a rule of the loader"),
            ("reportgen explain", "the list"),
        ),
    ),
    "manual": VerbHelp(
        "write the manual as web pages and PDF",
        "How to begin, recipes, questions and answers, every field, check and calculation with its "
        "source and check values, every document with a picture made on the spot. Needs no network "
        "and takes a minute or two.",
        (("reportgen manual --output manual", "into a folder of its own"),),
    ),
    "store": VerbHelp(
        "show what is left of each lot, what the plans need, what to buy, what beer cost",
        "Counts every lot of stock.yaml that has an `amount`: what was received, less what batches "
        "used (as weighed, or as planned) and what its `entries` lost, found or counted. Shows "
        "which lot to use first, what the planned batches need in the order of their `brew_on`, "
        "what is missing and how many packs that is, what goes out of date, and what the "
        "ingredients of each batch cost, by the `price` of the lots. --pdf writes it to "
        "build/store, to hang in the store.",
        (
            ("reportgen store", "the whole store"),
            ("reportgen store --on 2026-12-24", "what is out of date by then"),
            ("reportgen store --pdf", "a list to print"),
        ),
    ),
    "trace": VerbHelp(
        "trace a batch, a lot or a yeast, forward and back",
        "From a lot to the batches it went into; from a batch to its lots and to the yeast before "
        "and after it; from an item of stock.yaml to all of them; from an instrument to what it "
        "read, and what of that is in doubt.",
        (
            ("reportgen trace 2026-01", "a batch"),
            ("reportgen trace M-2604", "a lot"),
        ),
    ),
    "history": VerbHelp(
        "print what kit, yeasts and malts have done so far, and compare two",
        "What the readings of all batches say of each kit, yeast and liquor, with limits, and a "
        "value proposed for brewery.yaml where enough batches agree.",
        (
            ("reportgen history", "everything"),
            ("reportgen history --compare house_ale_a house_ale_b", "two yeasts"),
        ),
    ),
    "ledger": VerbHelp(
        "build the pages over all batches, the printed list, tables for other programs",
        "Writes build/ledger: web pages that need no server, a printable list, one CSV and one "
        "JSON of the whole archive.",
        (("reportgen ledger", "build/ledger/index.html"),),
    ),
    "verify": VerbHelp(
        "check an archived PDF against its source: same record, same bytes",
        "Takes the record out of the PDF, compares it with the file in the archive or in a git "
        "revision, makes the PDF again and compares the bytes. Exit code 1 when something "
        "differs.",
        (
            ("reportgen verify build/records/2026-01.pdf", "against the archive as it is"),
            (
                "reportgen verify build/records/2026-01.pdf --revision HEAD",
                "against a git revision",
            ),
            ("reportgen verify --source build/records/2026-01.pdf", "print the record inside"),
        ),
    ),
    "compare": VerbHelp(
        "compare batches, or two revisions of one: only what differs",
        "The triangle test between them first, then the tastings of the same evening, the figures "
        "that differ beyond U, and what the plans' differences do. Where two share a plan, the "
        "steps that explain the difference. A batch with @REV is taken as it was in that git "
        "revision.",
        (
            ("reportgen compare 2025-02 2025-03", "two batches"),
            ("reportgen compare 2025-02 2025-03 2026-03", "three batches"),
            ("reportgen compare 2026-01@HEAD 2026-01", "what has changed since the last commit"),
            ("reportgen compare 2025-02 2025-03 --page", "as a page in build/compare"),
        ),
    ),
    "watch": VerbHelp(
        "check and build again after every save, until Ctrl-C",
        "For a preview beside the editor: prints the findings and builds what changed after every "
        "save. Ctrl-C finishes the current build.",
        (("reportgen watch 2026/2026-10.yaml", "one batch"),),
    ),
    "completion": VerbHelp(
        "print a completion script for a shell",
        "Prints what completes verbs, options and file names in bash, zsh or fish. Put it where "
        "your shell looks for such scripts; the first line of each example is enough for a try.",
        (
            ("reportgen completion bash > reportgen.bash", "then: source reportgen.bash"),
            ("reportgen completion zsh > _reportgen", "into a folder of $fpath"),
            (
                "reportgen completion fish > reportgen.fish",
                "into ~/.config/fish/completions",
            ),
        ),
    ),
}
"""Every verb, in the order of the work."""

WHEN: dict[str, tuple[str, ...]] = {
    "before the brew day": (
        "start", "schema", "new", "propose", "treat", "check", "explain", "figures", "store",
        "sheet",
    ),
    "on the day and after": ("blanks", "record", "build", "watch"),
    "looking back": ("ledger", "history", "compare", "trace", "verify"),
}  # fmt: skip
"""When each verb is used."""


def by_use() -> dict[str, list[str]]:
    """Return every verb by when it is used; what belongs to no time comes last."""
    timed = {name for names in WHEN.values() for name in names}
    groups = {head: [n for n in names if n in VERBS] for head, names in WHEN.items()}
    return {**groups, "at any time": [name for name in VERBS if name not in timed]}
