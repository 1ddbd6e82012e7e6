"""How a spreadsheet, or one cell of it, is refused."""


class SpreadsheetRefused(Exception):
    """Nothing can be done with it; the text says why and what to do."""


class CellError(ValueError):
    """What is wrong with one cell, in one sentence."""

    def __init__(self, sentence: str, hint: str = "") -> None:
        super().__init__(sentence)
        self.hint = hint
