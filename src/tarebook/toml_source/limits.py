"""What one file may hold: far more than any car or rule set needs, and little enough to stay quick."""

MOST_BYTES = 1024 * 1024
MOST_DOTS = 32  # in one key: the parser's time grows with the square of their number
MOST_DEPTH = 32
MOST_NODES = 100_000
MOST_CHARACTERS = 4_000  # of one text or key
MOST_DECIMALS = 100
NUMBER_BOUND = 2**53  # whole numbers from here on do not survive a binary float
