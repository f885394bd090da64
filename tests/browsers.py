"""A browser without a window, for tests of pages."""

import shutil
from contextlib import contextmanager

BROWSER = next(
    filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
)


@contextmanager
def launched():
    """The browser that this machine has."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield found
        found.close()
