"""Prints the pages of a PDF file as JSON: width and height in points, the text, and where text begins."""
import json
import sys

from pypdf import PdfReader


def read(page):
    width, height = float(page.mediabox.width), float(page.mediabox.height)
    spots = []

    def note(text, cm, tm, font, size):
        if text.strip():
            x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
            y = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
            spots.append((x, y))

    text = page.extract_text(visitor_text=note)
    if page.rotation % 180:
        width, height = height, width
    return {"width": width, "height": height, "text": text, "spots": spots}


json.dump([read(page) for page in PdfReader(sys.argv[1]).pages], sys.stdout)
