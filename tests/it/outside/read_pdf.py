"""Prints the pages of a PDF file as JSON: width and height in points, and the text."""
import json
import sys

from pypdf import PdfReader

pages = []
for page in PdfReader(sys.argv[1]).pages:
    width, height = float(page.mediabox.width), float(page.mediabox.height)
    if page.rotation % 180:
        width, height = height, width
    pages.append({"width": width, "height": height, "text": page.extract_text()})
json.dump(pages, sys.stdout)
