"""A program that saves shots as fast as it can until somebody kills it. It says what it tries, and what it got stored.

python saving_child.py FOLDER YARD.json DEVICE FIRST
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from itertools import count
from pathlib import Path

from proofyard.opening import HeldFolder, open_book
from proofyard.records.apply import apply_each
from proofyard.records.ids import new_id
from proofyard.records.operations import Operation


def a_shot(yard: dict[str, str], device: str, number: int) -> Operation:
    body = {
        "label": f"A{number}",
        "shooting_end": yard["shooting_end"],
        "bow_build": yard["bow_build"],
        "arrow_build": yard["arrow_build"],
        "archer": yard["archer"],
        "purpose": "counted",
        "loosed_at": 1_792_836_000_000 + number * 60_000,
    }
    return Operation(new_id(), device, "put", "shot", new_id(), body=body, device_seq=number)


def main(folder: str, yard_file: str, device: str, first: str) -> None:
    yard = json.loads(Path(yard_file).read_text())
    with HeldFolder(Path(folder)):
        storage = open_book(Path(folder))
        for number in count(int(first)):
            op = a_shot(yard, device, number)
            print("try", json.dumps(asdict(op)), flush=True)
            answer = apply_each(storage, [op])[0]
            print("stored" if answer.taken else "refused", op.op_id, [one.sentence for one in answer.problems], flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
