"""Writes cmyk.jpg beside itself: a four-ink JPEG of four flat quarters (Pillow 9 or later)."""
from pathlib import Path
from PIL import Image

quarters = {(0, 0): (0, 0, 0, 0), (16, 0): (255, 0, 0, 0), (0, 16): (0, 255, 0, 0), (16, 16): (0, 0, 0, 255)}
picture = Image.new("CMYK", (32, 32))
for corner, ink in quarters.items():
    picture.paste(ink, (*corner, corner[0] + 16, corner[1] + 16))
picture.save(Path(__file__).with_name("cmyk.jpg"), quality=95, subsampling=0)
