"""The installed copy: the list of one whole release, and the service worker that keeps it."""
