"""The one error a user of the tool may meet."""


class InputError(Exception):
    """Something the user gave cannot be used.

    The message is one clear sentence that names the place, what was found, what is wanted and how to mend it.
    The command line prints it on standard error and leaves with exit code 1; nothing has been written.
    """
