"""What can go wrong, in one tree. Each error says what happened and one thing to do.

RigError
 +-- OutOfRange      (ValueError)    a formula or a measure was asked beyond its limits
 +-- SetupInvalid    (ValueError)    a set-up, boats or scenario file needs mending
 +-- SourceLost      (OSError)       the port is gone, busy or not allowed
 +-- OutOfPlace      (RuntimeError)  a button pressed when it makes no sense
 +-- CorrectionUnfit (ValueError)    a correction that its trial cannot take
 +-- RecordsUnusable (OSError)       the kept trials cannot be opened or written
"""


class RigError(Exception):
    """Something a person at the tub can mend: what happened, then one thing to do."""

    exit_code = 2

    def __init__(self, what: str, try_this: str) -> None:
        super().__init__(f"{what} {try_this}")
        self.what, self.try_this = what, try_this


class OutOfRange(RigError, ValueError):
    """A value lies outside what a formula or a hull covers."""


class SetupInvalid(RigError, ValueError):
    """A file written by a person does not say what it must."""


class SourceLost(RigError, OSError):
    """The port cannot be opened or went away."""


class OutOfPlace(RigError, RuntimeError):
    """The rig was told to do something that does not fit its present phase."""


class CorrectionUnfit(RigError, ValueError):
    """What somebody wants put right is not there, or cannot be so."""


class RecordsUnusable(RigError, OSError):
    """The file of kept trials cannot be opened, read or written."""
