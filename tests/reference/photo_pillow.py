"""Judge of stripped photos: Pillow (Debian python3-pil) makes a photo as a phone does, and reads what is left.

make FOLDER: baseline, progressive, gray and CMYK pictures, with Exif (place, time, device, preview),
XMP, a comment and a colour profile. check FOLDER: each NAME.out.jpg shows the same pixels as
NAME.jpg, and tells nothing but which way up.
"""

import sys
from pathlib import Path

from PIL import Image

SECRET = b"Attic window, second floor"
KINDS = {
    "baseline": ("RGB", {"quality": 85}),
    "progressive": ("RGB", {"quality": 85, "progressive": True}),
    "subsampled": ("RGB", {"quality": 60, "subsampling": "4:2:0", "optimize": True}),
    "gray": ("L", {"quality": 90}),
    "cmyk": ("CMYK", {"quality": 90}),
}


def exif(way):
    tags = Image.Exif()
    tags[0x0112] = way
    tags[0x010F] = SECRET.decode()  # maker of the device
    tags[0x0132] = "2026:03:07 18:30:00"
    tags[0x8825] = {1: "N", 2: (52.0, 31.0, 12.0), 3: "E", 4: (13.0, 24.0, 18.0)}
    return tags


def make(folder):
    for way, (name, (mode, options)) in enumerate(KINDS.items(), start=1):
        image = Image.new(mode, (67, 41))
        bands = len(image.getbands())
        pixels = [tuple((x * 3 + y * 5 * (b + 1)) % 256 for b in range(bands)) for y in range(41) for x in range(67)]
        image.putdata([p[0] for p in pixels] if bands == 1 else pixels)
        image.save(folder / f"{name}.jpg", exif=exif(way), comment=SECRET, icc_profile=b"profile" + SECRET, **options)


def check(folder):
    for way, name in enumerate(KINDS, start=1):
        before, after = (folder / f"{name}.jpg").read_bytes(), (folder / f"{name}.out.jpg").read_bytes()
        assert SECRET in before and SECRET not in after, name
        assert b"2026:03:07" in before and b"2026:03:07" not in after, name
        left = Image.open(folder / f"{name}.out.jpg")
        was = Image.open(folder / f"{name}.jpg")
        assert dict(was.getexif().get_ifd(0x8825)), "the maker of this test must write a place"
        assert left.size == was.size and left.mode == was.mode, name
        assert left.tobytes() == was.tobytes(), f"{name}: other pixels"
        assert dict(left.getexif()) == ({0x0112: way} if way > 1 else {}), dict(left.getexif())
        assert not left.getexif().get_ifd(0x8825), name
        assert "icc_profile" not in left.info and "comment" not in left.info, left.info.keys()
    print(f"{len(KINDS)} photos")


{"make": make, "check": check}[sys.argv[1]](Path(sys.argv[2]))
