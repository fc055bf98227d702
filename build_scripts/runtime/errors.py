"""What can keep the runtime from being made."""


class RuntimeBuildError(Exception):
    """The browser's runtime cannot be made; the message says why and, where it is known, what to do."""
