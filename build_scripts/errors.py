"""What stops a build, for whatever reason lies with whoever writes or publishes."""


class BuildError(Exception):
    """The site cannot be built; the message is what the author reads, one problem a line."""
