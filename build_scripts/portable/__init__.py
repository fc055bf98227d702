"""The portable edition: the same handbook as a folder and as one ZIP, opened without a server."""
