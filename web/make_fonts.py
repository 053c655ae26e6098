"""Cut the sheet's fonts down to the letters the page uses, as WOFF2 beside the other static files.

Needs ``pip install fonttools brotli``; run by hand when the fonts change. What is left out falls back
to a font of the device.
"""

from pathlib import Path

from fontTools import subset  # type: ignore[import-untyped]

ROOT = Path(__file__).resolve().parents[1] / "src" / "jawright"
LETTERS = (
    "U+20-7E,U+A0-24F,U+2C6-2DD,U+370-3FF,U+400-45F,U+1E00-1EFF,U+2000-206F,U+2070-209F,U+20A0-20BF,"
    "U+2100-214F,U+2150-215F,U+2190-21FF,U+2200-22FF,U+2300-23A8,U+25A0-25FF,U+2610-2612,U+2700-27BF"
)

for name, new in (("DejaVuSansCondensed", "sheet-regular"), ("DejaVuSansCondensed-Bold", "sheet-bold")):
    subset.main(
        [
            str(ROOT / "data" / "fonts" / f"{name}.ttf"),
            f"--unicodes={LETTERS}",
            "--flavor=woff2",
            "--layout-features=kern,liga",
            "--no-hinting",
            f"--output-file={ROOT / 'doors' / 'web' / 'static' / f'{new}.woff2'}",
        ]
    )
