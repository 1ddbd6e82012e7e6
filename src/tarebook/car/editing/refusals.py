"""How an edit is refused."""


class EditRefused(Exception):
    """The change cannot be made, and the file is as it was; the text says why and what to do."""
