#!/usr/bin/env python3
"""What a short OpenCV script makes of a photo, to hold evenfell's time against.

    python3 benches/straightforward.py PHOTO DPI

Ground colour from the rim, distance from it in Lab, the largest piece, turned upright; then its
length and width, the width along it, and a guess at the picks from one spectrum and from peaks of
the mean row. No selvedges below a pixel, no fringe or header told from the body, no plan, no
intervals, no refusals. Needs opencv-python, numpy and scipy. Both are timed as whole processes.
"""
import sys

import cv2
import numpy as np
from scipy.signal import find_peaks

RIM_PX = 20

photo = cv2.imread(sys.argv[1])
mm_per_px = 25.4 / float(sys.argv[2])
lab = cv2.cvtColor(photo, cv2.COLOR_BGR2LAB).astype(np.float32)
height, width = lab.shape[:2]

sides = (lab[:RIM_PX], lab[-RIM_PX:], lab[:, :RIM_PX], lab[:, -RIM_PX:])
rim = np.concatenate([side.reshape(-1, 3) for side in sides])
distance = np.linalg.norm(lab - np.median(rim, axis=0), axis=2)
distance = cv2.GaussianBlur(np.clip(distance, 0, 255).astype(np.uint8), (0, 0), 3)
_, mask = cv2.threshold(distance, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (31, 31))
mask = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, disc)
mask = cv2.morphologyEx(mask, cv2.MORPH_OPEN, disc)

pieces, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
(x, y), (long, short), angle = cv2.minAreaRect(max(pieces, key=cv2.contourArea))
if long < short:
    long, short, angle = short, long, angle - 90
turn = cv2.getRotationMatrix2D((x, y), angle, 1)
upright = cv2.warpAffine(photo, turn, (width, height))
mask = cv2.warpAffine(mask, turn, (width, height))
left, right = max(int(x - long / 2), 0), int(x + long / 2)
top, bottom = max(int(y - short / 2), 0), int(y + short / 2)

widths_mm = (mask[:, left:right] > 0).sum(axis=0) * mm_per_px
band = cv2.cvtColor(upright[top:bottom, left:right], cv2.COLOR_BGR2GRAY).astype(np.float32)
spectrum = np.abs(np.fft.rfft(band - band.mean(axis=1, keepdims=True), axis=1)).mean(axis=0)
print(f"length {long * mm_per_px:.2f} mm with fringe, width {widths_mm.mean():.2f} mm")
print(f"picks {np.argmax(spectrum[10:400]) + 10} by the spectrum,", end=" ")
print(f"{len(find_peaks(band.mean(axis=0), distance=20)[0])} by peaks")
