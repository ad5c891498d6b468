"""Corners that OpenCV's own detector sees in a real photo of markers of the sheet's family.

photo_markers.py PHOTO OUT.json
The photo is AprilTag.pgm of Debian's package visp-images-data; it isn't copied.
"""
import json
import sys

import cv2

FAMILY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)

picture = cv2.imread(sys.argv[1], cv2.IMREAD_GRAYSCALE)
parameters = cv2.aruco.DetectorParameters()
parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
corners, ids, _ = cv2.aruco.ArucoDetector(FAMILY, parameters).detectMarkers(picture)
found = {
    int(marker): [[round(float(v), 2) for v in corner] for corner in quad[0]]
    for marker, quad in zip(ids.flatten(), corners)
}
result = {
    "made_by": f"photo_markers.py, OpenCV {cv2.__version__}",
    "photo_px": [picture.shape[1], picture.shape[0]],
    "corners_px": dict(sorted(found.items())),
}
with open(sys.argv[2], "w") as file:
    json.dump(result, file)
    file.write("\n")
print(len(found), "markers")
