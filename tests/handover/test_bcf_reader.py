"""BCF read back by a library of the format, its classes made from the published BCF 3.0 schema."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from bcf.v3.bcfxml import BcfXml
from bcf.v3.model import Markup, VisualizationInfo
from xsdata.exceptions import ParserError
from xsdata.formats.dataclass.parsers import XmlParser
from xsdata.formats.dataclass.parsers.config import ParserConfig

from massing.checks.finding import Verdict
from massing.checks.run import check_scheme
from massing.handover.bcf import write_bcf
from massing.handover.bcf.topics import topics
from massing.project.read import read_project

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
STRICT = XmlParser(
    config=ParserConfig(
        fail_on_unknown_properties=True,
        fail_on_unknown_attributes=True,
        fail_on_converter_warnings=True,
    )
)
KINDS = {Verdict.CONFLICT: "Conflict", Verdict.REMEASURE: "Re-measure", Verdict.CAUTION: "Caution"}


@pytest.mark.parametrize("stem", ["boathouse", "loft"])
def test_another_reader_finds_every_finding(stem, tmp_path):
    """As many topics, their titles and kinds as the check says, each with its own viewpoint."""
    answer = check_scheme(read_project(EXAMPLES / f"{stem}.yaml"), "first try", nudges=False)
    file = tmp_path / "issues.bcf"
    write_bcf(answer, file)
    told = [finding for finding in answer.findings if finding.verdict is not Verdict.CLEAR]
    assert topics(answer)
    with BcfXml.load(file) as found:
        read = {handler.topic.title: handler for handler in found.topics.values()}
        assert sorted(read) == sorted(finding.says for finding in told)
        for finding in told:
            handler = read[finding.says]
            assert handler.topic.topic_type == KINDS[finding.verdict]
            (view,) = handler.viewpoints.values()
            camera = view.visualization_info.perspective_camera
            assert camera is not None
            way = camera.camera_direction
            assert np.hypot(np.hypot(way.x, way.y), way.z) == pytest.approx(1.0, abs=1e-6)


def test_every_element_is_one_of_the_schema(tmp_path):
    """Read with classes of the schema that take nothing else; a planted one is refused."""
    import zipfile

    answer = check_scheme(read_project(EXAMPLES / "loft.yaml"), "first try", nudges=False)
    file = tmp_path / "issues.bcf"
    write_bcf(answer, file)
    with zipfile.ZipFile(file) as held:
        kinds = {".bcf": Markup, ".bcfv": VisualizationInfo}
        texts = {
            name: (kinds[Path(name).suffix], held.read(name))
            for name in held.namelist()
            if Path(name).suffix in kinds
        }
    assert len(texts) >= 2 * len([f for f in answer.findings if f.verdict is Verdict.CONFLICT])
    for kind, text in texts.values():
        STRICT.from_bytes(text, kind)
    kind, text = next(value for name, value in texts.items() if name.endswith(".bcf"))
    with pytest.raises(ParserError):
        STRICT.from_bytes(
            text.replace(b"<Title>", b"<Titel>").replace(b"</Title>", b"</Titel>"), kind
        )
