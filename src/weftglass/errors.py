"""What can go wrong, said so that a person knows what to do next."""

from __future__ import annotations

MAX_VALUE_LENGTH = 80


def shortened(value: object, *, quoted: bool = True) -> str:
    """Text of a value, text in quotes if wanted, cut to at most 80 characters: an error stays one readable sentence."""
    text = repr(value) if quoted and isinstance(value, str) else str(value)
    return text if len(text) <= MAX_VALUE_LENGTH else text[: MAX_VALUE_LENGTH - 1] + "…"


def numbers_text(shape: tuple[int, ...]) -> str:
    """
    How many numbers an array of a shape holds, for sentences.

    Examples
    --------
    >>> numbers_text((12, 3)), numbers_text(())
    ('12 times 3 numbers', 'no numbers')
    """
    return f"{' times '.join(map(str, shape)) or 'no'} numbers"


class WeftglassError(Exception):
    """Base of every error this package raises on purpose."""


class InputError(WeftglassError):
    """
    The input is at fault: exit status 2 on the command line, 4xx in the browser; nothing was changed.

    Parameters
    ----------
    where : str
        File and line, page or function, in words the person knows: ``"evidence.jsonl line 14"``.
    field : str
        Path of the field, ``"measurements[0].sd"``.
    value : object
        What was given; cut to 80 characters when shown.
    expected : str
        What would be right, with unit and range: ``"a number above 0, in g"``.

    Examples
    --------
    >>> print(InputError("evidence.jsonl line 14", "measurements[0].sd", -5, "a number above 0, in g"))
    evidence.jsonl line 14: measurements[0].sd is -5; it should be a number above 0, in g. Nothing was changed.

    What was left out altogether is None, and the sentence says so:

    >>> print(InputError("outline", "--height", None, "given, or --scale-bar"))
    outline: --height is left out; it should be given, or --scale-bar. Nothing was changed.
    """

    def __init__(self, where: str, field: str, value: object, expected: str) -> None:
        super().__init__(where, field, value, expected)
        self.where = where
        self.field = field
        self.value = value
        self.expected = expected

    def __str__(self) -> str:
        found = "left out" if self.value is None else shortened(self.value)
        return f"{self.where}: {self.field} is {found}; it should be {self.expected}. Nothing was changed."


class Unfit(InputError):
    """
    The input is at fault in a way that showing it would not tell: what is wrong is said in a clause of our own.

    Parameters
    ----------
    where, field : str
    value : str
        What is wrong, a whole clause: ``"the two points are 2.8 pixels apart"``.
    expected : str

    Examples
    --------
    >>> print(Unfit("bar", "points", "the two points are 2.8 pixels apart", "two points at least 8 pixels apart"))
    bar: the two points are 2.8 pixels apart; what is needed is two points at least 8 pixels apart. Nothing was changed.
    """

    TURN = "what is needed is"

    @property
    def told(self) -> str:
        """What is wrong and what would be right, without where."""
        return f"{self.value}; {self.TURN} {self.expected}"

    def __str__(self) -> str:
        return f"{self.where}: {self.told}. Nothing was changed."


class UnusableFile(Unfit):
    """
    A file or folder a person named is not what it should be: not there, empty, of another kind, not to be read.

    Parameters
    ----------
    where : str
        Its path or name.
    field : str
        ``"file"`` or ``"folder"``.
    value : str
        What is wrong, in words that follow the name.
    expected : str

    Examples
    --------
    >>> print(UnusableFile("front.jpg", "file", "there is no such file", "a photograph"))
    front.jpg: there is no such file; it should be a photograph. Nothing was changed.
    """

    TURN = "it should be"


class ChangedMeanwhile(WeftglassError):
    """
    A record was changed by somebody else between reading and saving; nothing was saved.

    Parameters
    ----------
    what : str
        The record in words: ``"piece p-017"``.
    read_version, current_version : int
        The version the person saw and the one now stored.
    """

    def __init__(self, what: str, read_version: int, current_version: int) -> None:
        super().__init__(what, read_version, current_version)
        self.what = what
        self.read_version = read_version
        self.current_version = current_version

    def __str__(self) -> str:
        return (
            f"{self.what} was changed meanwhile: you read version {self.read_version}, "
            f"it is now at version {self.current_version}. Nothing was saved; look at the newer one first."
        )


class CabinetError(WeftglassError):
    """The collection folder cannot be read or written (full disk, missing file, foreign format)."""
