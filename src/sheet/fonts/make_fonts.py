"""Cuts the two fonts of the sheet out of Liberation Sans 2.1.5 (SIL Open Font License 1.1).

    python3 make_fonts.py FOLDER-WITH-LiberationSans-*.ttf        (fonttools 4)

The licence reserves the name "Liberation" for the unchanged font, so the cut-outs have a name of
their own; OFL.txt beside them is the licence.
"""
import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

CHARACTERS = [*range(0x20, 0x7F), 0xB1, 0xB7, 0xD7]
for weight in ("Regular", "Bold"):
    font = TTFont(Path(sys.argv[1]) / f"LiberationSans-{weight}.ttf")
    options = subset.Options()
    options.hinting = False
    options.layout_features = []
    options.notdef_outline = True
    options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
    options.drop_tables += ["FFTM", "GDEF", "GSUB", "GPOS", "kern", "meta"]
    cut = subset.Subsetter(options)
    cut.populate(unicodes=CHARACTERS)
    cut.subset(font)
    for record in font["name"].names:
        if record.nameID in (1, 3, 4, 6):
            joiner = "-" if record.nameID == 6 else " "
            record.string = joiner.join(["EvenfellSheet", weight])
    font.save(Path(__file__).with_name(f"sheet-{weight.lower()}.ttf"))
