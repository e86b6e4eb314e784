#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The rival: a ring measured the plain way with Debian's python3-opencv. Read grey, threshold (Otsu), find contours with
their hierarchy, take the largest contour that has a hole, moments of outer less inner, scaled by the resolution.

--pixels counts the pixels between the two contours in place of taking the contours' own moments: OpenCV's contours run
through the centres of the edge's pixels, which makes the ring half a pixel thinner on either side, and counting does not
suffer from that. It is the better of the two and a little slower; the benchmark shows both.

Usage: ring_opencv.py IMAGE DPI [--pixels]
"""
import json
import sys

import cv2
import numpy as np


def main(path, dpi, pixels):
    image = cv2.imread(path, cv2.IMREAD_GRAYSCALE)
    if image is None:
        sys.exit("ring_opencv: %s cannot be read" % path)
    dark_ground = np.median(image[0]) < 128
    kind = cv2.THRESH_BINARY if dark_ground else cv2.THRESH_BINARY_INV
    _, binary = cv2.threshold(image, 0, 255, kind | cv2.THRESH_OTSU)
    contours, tree = cv2.findContours(binary, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    areas = [cv2.contourArea(contour) for contour in contours]
    outer = max((i for i in range(len(contours)) if tree[0][i][2] >= 0), key=lambda i: areas[i])
    inner = max((i for i in range(len(contours)) if tree[0][i][3] == outer), key=lambda i: areas[i])
    x0, y0, width, height = cv2.boundingRect(contours[outer])
    if pixels:
        mask = np.zeros((height, width), np.uint8)
        cv2.drawContours(mask, contours, outer, 255, cv2.FILLED, offset=(-x0, -y0))
        # The hole's contour lies on the ring's own pixels: fill it, then give that line back.
        cv2.drawContours(mask, contours, inner, 0, cv2.FILLED, offset=(-x0, -y0))
        cv2.drawContours(mask, contours, inner, 255, 1, offset=(-x0, -y0))
        m = cv2.moments(mask, binaryImage=True)
    else:
        a, b = cv2.moments(contours[outer]), cv2.moments(contours[inner])
        m = {key: a[key] - b[key] for key in ("m00", "m10", "m01", "m20", "m02", "m11")}
        x0 = y0 = 0
    mm = 25.4 / dpi
    cx, cy = m["m10"] / m["m00"], m["m01"] / m["m00"]
    print(json.dumps({
        "area_mm2": m["m00"] * mm**2,
        "centroid_mm": [(cx + x0 + 0.5) * mm, (image.shape[0] - (cy + y0 + 0.5)) * mm],
        "ix_mm4": (m["m02"] - cy * m["m01"]) * mm**4,
        "iy_mm4": (m["m20"] - cx * m["m10"]) * mm**4,
        "ixy_mm4": -(m["m11"] - cx * m["m01"]) * mm**4,
    }))


if __name__ == "__main__":
    main(sys.argv[1], float(sys.argv[2]), "--pixels" in sys.argv)
