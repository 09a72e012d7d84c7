#!/usr/bin/env python3
"""Trains the net behind digitizer/print/digit_reader.h and writes digit_weights.cc.

    train_digits.py [--numbers 140000] [--epochs 24] [--seed 11] ../../../digitizer/print/digit_weights.cc

Numbers as maps print them are drawn in every upright and slanted text font of the machine, worn as scans, photographs, web pictures and bilevel copies are,
cut out as digitizer/print/word_crop.cc cuts them, and taken apart into characters, and into pieces that are no characters. Needs numpy, OpenCV, PIL and the
fonts of Debian's fonts-dejavu, fonts-liberation, fonts-lato, gsfonts and matplotlib; another choice of fonts gives another net.
"""
import argparse
import glob
import random

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

CHARACTERS = "0123456789.,%k"  # the answer after the last: none of these
NONE = len(CHARACTERS)
HEIGHT, ABOVE, BELOW, ROWS, COLUMNS = 24, 4, 6, 17, 16
DRAWN = 48  # height of drawn digits before wear, px
NO_TEXT = ("ymbol", "Siz", "D050", "Z003", "Math", "cmex", "cmsy", "cmmi", "dsrom", "esint", "eufm", "msam", "msbm", "rsfs", "stmary", "wasy", "NonUni",
           "Hairline", "Thin")
LETTERS = "abcdefghijmnopqrstuvwxyzACDEFGHJKLMNPQRTUVWXYZ=()[]\\/"
LIKE_DIGITS = "oiDQRZzgqbG"


def fonts():
    found = {}
    for pattern in ("/usr/share/fonts/**/*.ttf", "/usr/share/fonts/**/*.otf", "/usr/share/fonts/**/*.pfb",
                    "/usr/lib/python3/dist-packages/matplotlib/mpl-data/fonts/ttf/*.ttf", "/usr/share/matplotlib/mpl-data/fonts/ttf/*.ttf"):
        for file in sorted(glob.glob(pattern, recursive=True)):
            if not any(word in file for word in NO_TEXT):
                found.setdefault(file.split("/")[-1].split(".")[0], file)
    return sorted(found.values())


def number(rnd):
    kind = rnd.random()
    if kind < .2: return "%d" % (rnd.randrange(10, 250) * 1000)
    if kind < .32: return f"{rnd.randrange(10, 250) * 1000:,}"
    if kind < .5: return "0.%02d" % rnd.randrange(30, 99)
    if kind < .62: return "%d%%" % rnd.randrange(20, 130)
    if kind < .72: return "%dk" % rnd.randrange(20, 250)
    if kind < .82: return "%.1f" % (rnd.randrange(0, 300) / 10)
    if kind < .9: return "%d" % rnd.randrange(0, 1000)
    if kind < .93: return f"{rnd.randrange(10, 250) * 1000:,}".replace(",", ".")
    if kind < .96: return ".%03d" % rnd.randrange(300, 999)
    return "".join(rnd.choice("0123456789") for _ in range(rnd.randrange(3, 7)))


LOADED = {}


def font_of(file):
    if file not in LOADED:
        font = ImageFont.truetype(file, 100)
        box = font.getbbox("0")
        font = ImageFont.truetype(file, int(round(100 * DRAWN / (box[3] - box[1]))))
        LOADED[file] = (font, font.getbbox("0")[1])
    return LOADED[file]


def usable(file):
    try:
        font_of(file)
        return True
    except (OSError, ZeroDivisionError):  # no outlines, or no digits
        return False


def draw(file, text, rnd):
    """Ink 0..255 of the text, the columns of each character, rows of the digits' top and base."""
    font, top = font_of(file)
    pad = 60
    picture = Image.new("L", (int(font.getlength(text)) + 2 * pad, DRAWN + 2 * pad), 255)
    pen, x, boxes, extra = ImageDraw.Draw(picture), pad, [], rnd.choice([0, 0, 0, 0, 1, 2, -1])
    for i, character in enumerate(text):
        pen.text((x, pad - top), character, font=font, fill=0)
        box = font.getbbox(character)
        boxes.append((x + box[0], x + box[2]))
        x += font.getlength(text[:i + 1]) - font.getlength(text[:i]) + extra
    return (255 - np.array(picture)[:, :int(x) + pad]).astype(np.float32), boxes, pad, pad + DRAWN


def wear(ink, boxes, top, base, rnd, noise):
    """The number as the program's crop shows it, dark on white, at digits of HEIGHT px."""
    rows, columns = ink.shape
    if rnd.random() < .35:  # bits of lines beside it
        for _ in range(rnd.randrange(1, 3)):
            angle = rnd.uniform(-1.2, 1.2)
            x, y = rnd.uniform(0, 45) if rnd.random() < .5 else rnd.uniform(columns - 45, columns), rnd.uniform(0, rows)
            dx, dy = np.cos(angle) * 60, np.sin(angle) * 60
            if rnd.random() < .5: x, y = rnd.uniform(0, columns), rnd.choice([rnd.uniform(0, top - 14), rnd.uniform(base + 14, rows)])
            cv2.line(ink, (int(x - dx), int(y - dy)), (int(x + dx), int(y + dy)), rnd.uniform(120, 255), rnd.randrange(2, 9), cv2.LINE_AA)
    if rnd.random() < .2:  # a faint grid line through it
        grid = np.zeros_like(ink)
        if rnd.random() < .5:
            y = rnd.randrange(rows)
            cv2.line(grid, (0, y), (columns, y), rnd.uniform(20, 90), rnd.randrange(1, 5))
        else:
            x = rnd.randrange(columns)
            cv2.line(grid, (x, 0), (x, rows), rnd.uniform(20, 90), rnd.randrange(1, 5))
        ink = np.maximum(ink, grid)
    height = rnd.choice([rnd.uniform(5.3, 8.5), rnd.uniform(5.3, 8.5), rnd.uniform(7, 12), rnd.uniform(7, 12), rnd.uniform(10, 24)])
    scale, turn = height / DRAWN, rnd.uniform(-3, 3) if rnd.random() < .5 else 0
    if rnd.random() < .15: ink = cv2.dilate(ink, np.ones((3, 3)))
    px, py = rnd.uniform(1, 3), rnd.uniform(1, 3)
    width, tall = int(columns * scale) + 6, int(rows * scale) + 6
    sheet = cv2.warpAffine(cv2.GaussianBlur(ink, (0, 0), .38 / scale), np.array([[scale, 0, px], [0, scale, py]], np.float32), (width, tall))
    if rnd.random() < .8: sheet = cv2.GaussianBlur(sheet, (0, 0), rnd.uniform(.15, .75 if height < 12 else 1.3))
    sheet *= rnd.uniform(.55, 1)
    if rnd.random() < .2 and height > 9:  # a bilevel copy
        sheet = np.where(sheet + noise.normal(0, 25, sheet.shape) > rnd.uniform(70, 170), 255, 0).astype(np.float32)
        if rnd.random() < .4: sheet[noise.random(sheet.shape) < .01] = 255
    else:
        sheet += noise.normal(0, rnd.uniform(0, 12), sheet.shape)
        if rnd.random() < .7:
            packed = cv2.imencode(".jpg", np.clip(255 - sheet, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, rnd.randrange(30, 96)])[1]
            sheet = 255 - cv2.imdecode(packed, 0).astype(np.float32)
    sheet[sheet < rnd.uniform(0, 25)] = 0
    # Cut out with a height and a base line that are a little off.
    zoom = HEIGHT / (height * rnd.uniform(.93, 1.09))
    middle, rows_out = py + scale * (top + base) / 2 + rnd.uniform(-.05, .05) * height, HEIGHT + 44
    center = (rows_out - 1) / 2
    place = np.array([[zoom, 0, 0], [0, zoom, center - middle * zoom]], np.float32)
    if turn:
        rotation = np.vstack([cv2.getRotationMatrix2D((width * zoom / 2, center), turn, 1), [0, 0, 1]])
        place = (rotation @ np.vstack([place, [0, 0, 1]]))[:2]
    crop = 255 - cv2.warpAffine(np.clip(sheet, 0, 255).astype(np.uint8), place, (int(width * zoom), rows_out), flags=cv2.INTER_CUBIC).astype(np.float32)
    black = np.percentile(crop[int(center - HEIGHT / 2) - 2:int(center + HEIGHT / 2) + 2], 2)
    crop = cv2.GaussianBlur(np.clip((crop - black) * 255 / max(20, 250 - black), 0, 255), (0, 0), .6)
    return 255 - crop, [((l * scale + px) * zoom, (r * scale + px) * zoom) for l, r in boxes], int(round(center - HEIGHT / 2))


def patch(ink, top, left, right):
    left, right = max(int(round(left)), 0), min(int(round(right)), ink.shape[1])
    out = np.zeros((HEIGHT + ABOVE + BELOW, 2 * COLUMNS), np.float32)
    width = min(right - left, 2 * COLUMNS)
    if width > 0:
        offset = (2 * COLUMNS - width) // 2
        out[:, offset:offset + width] = ink[top - ABOVE:top + HEIGHT + BELOW, left:left + width]
    return cv2.resize(out, (COLUMNS, ROWS), interpolation=cv2.INTER_AREA).astype(np.uint8)


def samples(count, seed):
    rnd, noise, files = random.Random(seed), np.random.default_rng(seed), [file for file in fonts() if usable(file)]
    inputs, answers = [], []
    for i in range(count):
        words = i % 20 == 0
        text = "".join(rnd.choice(LETTERS) for _ in range(rnd.randrange(3, 9))) if words else number(rnd)
        ink, boxes, top, base = draw(rnd.choice(files), text, rnd)
        ink, boxes, top = wear(ink, boxes, top, base, rnd, noise)

        def add(left, right, answer):
            inputs.append(patch(ink, top, left, right))
            answers.append(answer)

        for character, (left, right) in zip(text, boxes):
            if words and character in LIKE_DIGITS: continue
            for _ in range(2 if character in ".,1" and rnd.random() < .5 else 1):
                add(left + rnd.uniform(-2.2, 1), right + rnd.uniform(-1, 2.2), NONE if words else CHARACTERS.index(character))
        for _ in range(0 if words else max(2, len(text) * 2 // 3)):  # halves, pairs, and what stands beside
            kind, j = rnd.random(), rnd.randrange(len(text))
            left, right = boxes[j]
            width = right - left
            if kind < .35 and width > 6:
                middle = left + width * rnd.uniform(.3, .7)
                add(*((left, middle) if rnd.random() < .5 else (middle, right)), NONE)
            elif kind < .8 and j + 1 < len(text):
                second, end = boxes[j + 1]
                add(left if kind < .6 else left + width * rnd.uniform(.3, .7), second + (end - second) * rnd.uniform(.35, 1), NONE)
            elif kind < .9:
                add(boxes[-1][1] + 3, boxes[-1][1] + 3 + rnd.uniform(4, 16), NONE)
            else:
                add(boxes[0][0] - 3 - rnd.uniform(4, 16), boxes[0][0] - 3, NONE)
    return np.array(inputs).reshape(len(inputs), -1), np.array(answers)


def train(inputs, answers, hidden, epochs):
    rnd = np.random.default_rng(0)
    sizes = [inputs.shape[1], hidden, 32, NONE + 1]
    weights = []
    for a, b in zip(sizes, sizes[1:]): weights += [rnd.normal(0, np.sqrt(2 / a), (a, b)).astype(np.float32), np.zeros(b, np.float32)]
    first, second, steps, batch = [np.zeros_like(w) for w in weights], [np.zeros_like(w) for w in weights], 0, 256
    for epoch in range(epochs):
        rate, order = 1.5e-3 * .5 * (1 + np.cos(np.pi * epoch / epochs)) + 1e-5, rnd.permutation(len(inputs))
        for k in range(0, len(inputs) - batch + 1, batch):
            chosen = order[k:k + batch]
            x = inputs[chosen].astype(np.float32) / 255
            a = np.maximum(x @ weights[0] + weights[1], 0)
            b = np.maximum(a @ weights[2] + weights[3], 0)
            z = b @ weights[4] + weights[5]
            p = np.exp(z - z.max(1, keepdims=True))
            p /= p.sum(1, keepdims=True)
            p[np.arange(batch), answers[chosen]] -= 1
            p /= batch
            db = (p @ weights[4].T) * (b > 0)
            da = (db @ weights[2].T) * (a > 0)
            steps += 1
            for j, g in enumerate([x.T @ da, da.sum(0), a.T @ db, db.sum(0), b.T @ p, p.sum(0)]):
                first[j] += .1 * (g - first[j])
                second[j] += .001 * (g * g - second[j])
                weights[j] -= rate * (first[j] / (1 - .9**steps)) / (np.sqrt(second[j] / (1 - .999**steps)) + 1e-7)
                if j % 2 == 0: weights[j] -= rate * 2e-3 * weights[j]
        print("epoch", epoch + 1, "of", epochs, flush=True)
    return weights


def write(weights, file):
    signs = [chr(c) for c in range(35, 127) if c != 92]
    out = ['#include "digitizer/print/digit_net.h"', "", "namespace islebook {", "namespace {", "",
           "// Written by tests/digitizer/print/train_digits.py; not to be edited by hand."]
    layers = []
    for k in (1, 2, 3):
        w, b = weights[2 * k - 2], weights[2 * k - 1]
        step = np.maximum(np.minimum(np.abs(w).max(0), 1.25 * np.quantile(np.abs(w), .998, axis=0)) / 45, 1e-8)
        text = "".join(signs[v + 45] for v in np.clip(np.round(w / step), -45, 45).astype(int).reshape(-1))
        lines = [f'    R"({text[i:i + 140]})"' for i in range(0, len(text), 140)]
        out += [f"constexpr char kSigns{k}[] =", *lines[:-1], lines[-1] + ";"]
        for name, values in (("Step", step), ("Bias", b)):
            out.append(f"constexpr float k{name}{k}[] = {{" + ", ".join(f"{v:.6e}F" for v in values) + "};")
        layers.append(f"    {{{w.shape[0]}, {w.shape[1]}, kSigns{k}, kStep{k}, kBias{k}}},")
    out += ["constexpr NetLayer kLayers[] = {", *layers, "};", "", "}  // namespace", "",
            "std::span<const NetLayer> DigitLayers() { return kLayers; }", "", "}  // namespace islebook", ""]
    with open(file, "w", encoding="ascii") as stream: stream.write("\n".join(out))


def main():
    arguments = argparse.ArgumentParser(description="Trains the digit reader's net.")
    arguments.add_argument("out")
    arguments.add_argument("--numbers", type=int, default=140000)
    arguments.add_argument("--epochs", type=int, default=24)
    arguments.add_argument("--hidden", type=int, default=80)
    arguments.add_argument("--seed", type=int, default=11)
    given = arguments.parse_args()
    inputs, answers = samples(given.numbers, given.seed)
    weights = train(inputs, answers, given.hidden, given.epochs)
    tests, right = samples(2500, given.seed + 88)
    a = np.maximum(tests.astype(np.float32) / 255 @ weights[0] + weights[1], 0)
    said = (np.maximum(a @ weights[2] + weights[3], 0) @ weights[4] + weights[5]).argmax(1)
    print(f"right on fresh pieces {100 * (said == right).mean():.2f} %, on digits {100 * (said == right)[right < 10].mean():.2f} %")
    write(weights, given.out)


if __name__ == "__main__":
    main()
