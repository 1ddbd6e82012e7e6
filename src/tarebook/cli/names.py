"""`kinds` and `facts`: the names that files may use."""

from typing import Annotated

import typer

WordArgument = Annotated[str | None, typer.Argument(metavar="[WORD]", help="A word to search for.", show_default=False)]


def kinds(word: WordArgument = None) -> None:
    """The kinds of components that files may name. With a word, those that it finds."""
    from tarebook.cli.status import Refused
    from tarebook.kinds import builtin
    from tarebook.show.text import wrapped

    tree = builtin()
    found = tree.search(word) if word else [tree.get(path) for path in tree.paths()]
    if not found:
        hint = tree.suggest(word or "")
        raise Refused(f'No kind is called "{word}". {hint[:1].upper()}{hint[1:]}'.rstrip())
    for kind in found:
        print(f"{kind.path:44} {kind.factory:10} {kind.title}")
        if word and len(found) <= 12:
            if kind.mass_range is not None:
                low, high = (f"{float(each):g}" for each in kind.mass_range)
                print(f"{'':44} usually {low} to {high} kg on a road car (from memory, never used for a verdict)")
            for caution in kind.cautions:
                print(wrapped(f"Caution: {caution}", "    "))


def facts(word: WordArgument = None) -> None:
    """The facts of a car that files may state. With a word, those that it finds."""
    from tarebook.cli.status import Refused
    from tarebook.facts import BUILTIN, search, suggest
    from tarebook.show.text import wrapped

    found = search(word) if word else list(BUILTIN.values())
    if not found:
        hint = suggest(word or "", BUILTIN)
        raise Refused(f'No fact is called "{word}". {hint[:1].upper()}{hint[1:]}'.rstrip())
    for fact in found:
        kind = f"{fact.type}: {', '.join(fact.choices)}" if fact.choices else fact.type
        print(wrapped(f"{fact.id:24} {fact.meaning} ({kind})", "", " " * 25))
