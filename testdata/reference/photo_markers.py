"""Corners that OpenCV's own detector sees in a real photo of markers of the sheet's family.

photo_markers.py PHOTO OUT.json
The photo is AprilTag.pgm of Debian's package visp-images-data; it isn't copied.
"""
import json
import sys

import cv2

from tag_codes import seen

size, found = seen(sys.argv[1])
result = {
    "made_by": f"photo_markers.py, OpenCV {cv2.__version__}",
    "photo_px": size,
    "corners_px": found,
}
with open(sys.argv[2], "w") as file:
    json.dump(result, file)
    file.write("\n")
print(len(found), "markers")
