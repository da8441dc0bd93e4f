"""Figures and marks as text and back, whole: what comes out is equal to what went in, to the last digit and by its `repr`."""

import json
import zlib
from dataclasses import fields
from operator import attrgetter
from types import MappingProxyType
from typing import Any

from proofyard.physics.uncertainty_budget import ShotInputs, UncertaintySource
from proofyard.quantities import Uncertain
from proofyard.quantities.reason import Reason
from proofyard.shots.at_target import Air, AtTarget, Drag
from proofyard.shots.fair_hits import FairMark
from proofyard.shots.impact import Impact

# Written as {"8": [its fields]}; a list is a tuple. New ones are put at the end of this row.
_KINDS: tuple[Any, ...] = (Uncertain, Reason, UncertaintySource, ShotInputs, Air, Drag, AtTarget, Impact, FairMark)
_FIELDS = MappingProxyType({kind: (str(n), attrgetter(*(one.name for one in fields(kind)))) for n, kind in enumerate(_KINDS)})

# Said of nearly every shot: a packed text begins as if this had stood before it, which makes it a third as long. With it goes FORMULAS.
_OFTEN = (
    b'{"7":["not_measured",{"1":["no_speed_of_the_combination",[["arrow",""],["arrow_build",1],["bow",""],["bow_build",1]]]},{'
    b'"1":["drag_of_two_places",[["far",],["far_m",],["near",],["near_m",{"1":["single_shots_scatter",[]]},"own",{"1":["speed_'
    b'place_assumed",[["most_m",4.0],["place_m",2.0]]]}{"1":["readings_of_the_shot_scatter",[]]}{"7":["combination",null,{"0":'
    b'[0.0,0.0,Infinity,3]},{"0":[50.0,0.1,Infinity,1]},{"0":[9.0,0.5,5.0,1]},{"0":[3.0,0.01,null,1]},[{"2":["mass",{"1":["wei'
    b'ghings_scatter",[]]},3e-05,"combination","A",2]},{"2":["mass",{"1":["instrument_says",[["accuracy_ratio",null],["means_t'
    b'old",true],["stated",true],["step",true],["tool","scale"]]]},0.0001,"instrument","B",Infinity]},{"2":["speed",{"1":["ins'
    b'trument_says",[["accuracy_ratio",0.005],["means_told",true],["stated",false],["step",true],["tool","chronograph"]]]},0.1'
    b'5,"instrument","B",Infinity]}],{"1":["speed_of_shot",[["basis","own"],["inputs",[]],["pooled_with",null],["readings",nul'
    b'l],["why_not_known",null]]]},false,{"0":[2.0,0.14433756729740646,Infinity,1]},{"6":[{"3":[0.06,50.0,12.0,1.95,0.01,1.2]}'
    b',[{"2":["drag_coefficient",{"1":["drag_not_measured",[]]},0.37527767497325676,"combination","B",Infinity]},{"2":["shaft_'
    b'diameter",{"1":["calliper",[]]},0.00011547005383792517,"combination","B",Infinity]},{"2":["air_density",{"1":["weather_a'
    b's_written",[]]},{"1":["weather_not_all_written",[]]},0.04268293587405294,"instrument","B",Infinity]},{"2":["distance",{"'
    b'1":["tape_or_paces",[]]},0.14433756729740646,"instrument","B",Infinity]},{"2":["distance",{"1":["where_the_speed_was_rea'
    b'd",[]]},0.14433756729740646,"instrument","B",Infinity]}],[],{"0":[2.0,0.14433756729740646,Infinity,1]},null,{"4":[{"0":['
    b'1.2,0.04268293587405294,Infinity,null]},{"1":["air_of_the_day",[["assumed_k",null],["assumed_pa",[99000.0,93000.0,105000'
    b'.0]],["assumed_ratio",null],["humidity_ratio",0.7],["pressure_pa",null],["temperature_k",285.15]]]},false]},{"5":[{"0":['
    b'1.95,0.37527767497325676,Infinity,null]},false,{"1":["drag_by_default",[["coefficient",1.95],["high",2.6],["low",1.3]]]}'
    b",null]},1]},null]}"
)


def as_text(value: Any) -> str:
    """JSON of figures, marks, reasons.

    Refuses
        KeyError  of a kind that isn't kept
    """
    return _WRITING.encode(value)


def of_text(said: str) -> Any:
    """What `as_text` was given."""
    return _tuples(_READING.decode(said))


def packed(value: Any) -> bytes:
    """The same, packed: a shot's figures are some 2,000 characters, most of them the same for every shot."""
    packing = zlib.compressobj(level=3, wbits=-15, zdict=_OFTEN)
    return packing.compress(as_text(value).encode()) + packing.flush()


def unpacked(content: bytes) -> Any:
    """What `packed` was given."""
    return of_text(zlib.decompressobj(wbits=-15, zdict=_OFTEN).decompress(content).decode())


def _parts(value: Any) -> dict[str, Any]:
    number, parts_of = _FIELDS[type(value)]
    return {number: parts_of(value)}


def _made(plain: dict[str, Any]) -> Any:
    ((number, parts),) = plain.items()
    return _KINDS[int(number)](*[tuple(map(_tuples, one)) if type(one) is list else one for one in parts])


def _tuples(plain: Any) -> Any:
    return tuple(map(_tuples, plain)) if type(plain) is list else plain


_WRITING = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), default=_parts, check_circular=False)
_READING = json.JSONDecoder(object_hook=_made)
