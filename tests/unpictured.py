"""Reports without what takes longest to write, for tests that look at neither."""

from pathlib import Path


def without_pictures(patch):
    """No pictures are drawn, and files of meshes are left empty."""
    patch.setattr("cases.report.results.write_pictures", lambda *_: ())
    patch.setattr("cases.report.page._data_address", str)
    for subject in ("stress", "solid"):
        patch.setattr(f"cases.{subject}.vtu.write_fields", lambda path, *_: Path(path).touch())
