"""The one exception of the core."""


class CoreError(ValueError):
    """Bad input, told by a code that `words.py` turns into a sentence.

    Parameters:  code: key in `words.ERRORS` · field: name of the form field or
                 data key it belongs to, "" when it belongs to none · values:
                 dict of texts that the sentence shows
    """

    def __init__(self, code: str, field: str = "", values: dict = None):
        super().__init__(code)
        self.code = code
        self.field = field
        self.values = values or {}
