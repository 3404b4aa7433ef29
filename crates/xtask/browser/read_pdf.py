"""Text and size of each page of a PDF as JSON, and a picture of each page for people to look at."""

import json
import sys

import pypdfium2

path, pictures = sys.argv[1:3]
document = pypdfium2.PdfDocument(path)
pages = []
for number, page in enumerate(document, start=1):
    width, height = page.get_size()
    text = page.get_textpage()
    boxes = [text.get_charbox(k) for k in range(text.count_chars())]
    page.render(scale=1.5).to_pil().save(f"{pictures}-{number}.png")
    pages.append({
        "width_pt": width,
        "height_pt": height,
        "text": text.get_text_bounded(),
        # The text's outermost edges from the left and the bottom of the page.
        "left_pt": min((box[0] for box in boxes), default=None),
        "bottom_pt": min((box[1] for box in boxes), default=None),
        "right_pt": max((box[2] for box in boxes), default=None),
        "top_pt": max((box[3] for box in boxes), default=None),
    })
json.dump(pages, sys.stdout)
