"""Writes the codes of the sheet's markers and checks the drawn sheet with OpenCV's own detector.

    python3 tag_codes.py codes                     # the table in src/markers/family.rs
    python3 tag_codes.py sheet PAGE.png OUT.json   # every marker that OpenCV reads in a page

OpenCV 5.0.0 (4.7 and later have the same calls). Family tag36h11: (C) 2013-2016, The Regents of
The University of Michigan, BSD 2-clause; see NOTICE.
"""
import json
import sys

import cv2

FAMILY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)


def codes(count=28):
    for marker in range(count):
        cells = cv2.aruco.generateImageMarker(FAMILY, marker, 8, borderBits=1)[1:7, 1:7]
        bits = "".join("1" if cell else "0" for cell in cells.flatten())
        print(f"    0x{int(bits, 2):09x},")


def seen(file):
    """The picture's size, px, and the corners of every marker in it, by number."""
    picture = cv2.imread(file, cv2.IMREAD_GRAYSCALE)
    parameters = cv2.aruco.DetectorParameters()
    parameters.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    corners, ids, _ = cv2.aruco.ArucoDetector(FAMILY, parameters).detectMarkers(picture)
    found = {
        int(marker): [[round(float(v), 2) for v in corner] for corner in quad[0]]
        for marker, quad in zip(ids.flatten(), corners)
    }
    return [picture.shape[1], picture.shape[0]], dict(sorted(found.items()))


def sheet(page, out):
    size, found = seen(page)
    result = {
        "made_by": f"tag_codes.py, OpenCV {cv2.__version__}",
        "page_px": size,
        "corners_px": found,
    }
    with open(out, "w") as file:
        json.dump(result, file, indent=1)
        file.write("\n")
    print(len(found), "markers")


if __name__ == "__main__":
    if sys.argv[1] == "codes":
        codes()
    else:
        sheet(sys.argv[2], sys.argv[3])
