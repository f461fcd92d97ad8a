"""Tests for the GLB container, byte by byte.

Source of every rule: glTF 2.0 specification, "GLB File Format Specification".
"""

from __future__ import annotations

import base64
import json
import struct

import pytest

from massing.handover.gltf.file import glb, gltf
from massing.handover.model import Model
from tests.handover.models import workshop


def chunks(data):
    """[(type, bytes)] walked to the end of the file."""
    found, place = [], 12
    while place < len(data):
        length, kind = struct.unpack_from("<II", data, place)
        found.append((kind, data[place + 8 : place + 8 + length]))
        place += 8 + length
    assert place == len(data)
    return found


@pytest.mark.parametrize("extra", ["", "a", "ab", "abc"])
def test_header_and_chunks_follow_the_specification(extra):
    """Magic, version, true length; JSON first, BIN second; 4-byte steps; spaces and zeros."""
    model = Model("n" + extra, workshop().nodes, notes={"n": extra})
    data = glb(model)
    (json_type, text), (bin_type, buffer) = chunks(data)
    found = json.loads(text)

    assert struct.unpack_from("<III", data) == (0x46546C67, 2, len(data))
    assert (json_type, bin_type) == (0x4E4F534A, 0x004E4942)
    assert len(text) % 4 == len(buffer) % 4 == 0
    assert text.startswith(b"{")
    assert text.rstrip(b" ").endswith(b"}")
    assert 0 <= len(buffer) - found["buffers"][0]["byteLength"] <= 3
    assert buffer[found["buffers"][0]["byteLength"] :].strip(b"\0") == b""
    assert "uri" not in found["buffers"][0]


def test_json_padding_takes_each_of_the_four_lengths():
    """The padding test above meets every remainder, so a wrong filler cannot hide."""
    sizes = set()
    for n in range(8):
        text = chunks(glb(Model("m", workshop().nodes, notes={"n": "x" * n})))[0][1]
        padding = text[len(text.rstrip(b" ")) :]
        assert padding == b" " * len(padding)
        sizes.add(len(padding))

    assert sizes == {0, 1, 2, 3}


def test_an_empty_model_has_no_binary_chunk():
    """One JSON chunk, and no list that the specification wants non-empty."""
    ((kind, text),) = chunks(glb(Model("bare")))

    assert kind == 0x4E4F534A
    assert json.loads(text)["scenes"] == [{"name": "bare", "extras": {"name_as_written": "bare"}}]
    assert not {"buffers", "nodes", "meshes", "materials"} & set(json.loads(text))


def test_json_form_holds_the_same_buffer():
    """The .gltf form is the .glb form with the buffer as base64."""
    (_, text), (_, buffer) = chunks(glb(workshop()))
    plain, packed = json.loads(gltf(workshop())), json.loads(text)
    uri = plain["buffers"][0].pop("uri")

    assert plain == packed
    head = "data:application/octet-stream;base64,"
    assert uri.startswith(head)
    assert base64.b64decode(uri.removeprefix(head)) == buffer[: plain["buffers"][0]["byteLength"]]


def test_text_beyond_ascii_and_half_a_surrogate_pair_are_utf8():
    """Names as written survive; what UTF-8 cannot hold becomes a question mark."""
    found = json.loads(chunks(glb(Model("Küche ⛵ \ud800")))[0][1].decode("utf-8"))

    assert found["scenes"][0]["extras"]["name_as_written"] == "Küche ⛵ ?"
