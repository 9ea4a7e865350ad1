"""Quantities in forms and in the API: typed text in, exact value out."""

from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest
from django import forms
from rest_framework import serializers

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits, Typed
from clubsetup.quantities.units import Units
from clubsetup.site.api_fields import TypedQuantity
from clubsetup.site.forms import QuantityForm, QuantityInput, UnitsForm
from tests.markup import tight


class WheelbaseForm(QuantityForm):
    base = QuantityInput(
        kind=Kind.LENGTH, limits=QuantityLimits(Decimal(500), Decimal(2000), "a base")
    )
    tilt = QuantityInput(kind=Kind.ANGLE, limits=QuantityLimits(), required=False)


class TestTheBox:
    def test_gives_the_exact_value_and_the_text(self) -> None:
        form = WheelbaseForm({"base": ' 46 5/16" '})
        assert form.is_valid()
        typed = form.cleaned_data["base"]
        assert isinstance(typed, Typed)
        assert typed.value == Decimal("1176.3375")  # 46.3125 * 25.4
        assert typed.text == '46 5/16"'
        assert form.cleaned_data["tilt"] is None

    def test_a_bare_number_is_in_the_units_given(self) -> None:
        form = WheelbaseForm({"base": "1176"}, units=Units.metric())
        assert form.is_valid()
        assert form.cleaned_data["base"].value == 1176

    @pytest.mark.parametrize("text", ["46 9/7", "11 psi", "wide", "4 in", "999 ft"])
    def test_keeps_what_was_refused_with_a_sentence_beside_it(self, text: str) -> None:
        form = WheelbaseForm({"base": text})
        assert not form.is_valid()
        drawn = str(form)
        assert f'value="{text}"' in drawn
        assert 'aria-invalid="true"' in drawn
        assert 'aria-describedby="id_base_error"' in drawn
        assert 'id="id_base_error"' in drawn

    def test_may_be_left_empty_only_where_it_is_not_required(self) -> None:
        form = WheelbaseForm({"base": "", "tilt": ""})
        assert set(form.errors) == {"base"}

    def test_escapes_what_was_typed(self) -> None:
        drawn = str(WheelbaseForm({"base": '"><script>x</script>'}))
        assert "<script>" not in drawn


class TestUnitsForm:
    def form(self, data: dict[str, str] | None = None) -> UnitsForm:
        return UnitsForm(data, chosen={"mass": "kg"}, fallback="Usual", over=Units.imperial())

    def test_shows_what_is_chosen_and_what_stands_else(self) -> None:
        drawn = str(self.form())
        assert '<option value="kg" selected>' in drawn
        assert "Usual (in)" in drawn

    def test_gives_only_what_was_chosen(self) -> None:
        form = self.form({"mass": "", "length": "cm"})
        assert form.is_valid()
        assert form.cleaned_data == {"units": {"length": "cm"}}


class DrawnForm(forms.Form):
    name = forms.CharField(help_text="As on the board.")
    agreed = forms.BooleanField(label="I agree")
    side = forms.ChoiceField(choices=[("l", "Left"), ("r", "Right")], widget=forms.RadioSelect)


def test_every_box_has_its_label_and_help() -> None:
    drawn = tight(str(DrawnForm()))
    assert '<label for="id_name">Name' in drawn
    assert 'id="id_name_helptext"' in drawn
    assert 'aria-describedby="id_name_helptext"' in drawn
    assert '<label class="check" for="id_agreed">' in drawn
    assert "<legend>Side</legend>" in drawn
    for choice in ("id_side_0", "id_side_1"):
        assert f'<label class="check" for="{choice}">' in drawn
    assert "style=" not in drawn


class WeightSerializer(serializers.Serializer[Any]):
    mass = TypedQuantity(kind=Kind.MASS, limits=QuantityLimits(), typed_from="mass_typed")
    bare = TypedQuantity(kind=Kind.MASS, limits=QuantityLimits(), required=False)


class TestTheApiField:
    @pytest.mark.parametrize("sent", ["88.5 lb", {"typed": "88.5 lb"}])
    def test_reads_text_alone_or_as_it_was_written_out(self, sent: Any) -> None:
        given = WeightSerializer(data={"mass": sent})
        assert given.is_valid()
        assert given.validated_data["mass"].value == Decimal("40.142924745")  # 88.5 * 0.45359237

    def test_a_bare_number_is_in_the_units_of_the_context(self) -> None:
        given = WeightSerializer(data={"mass": "40"}, context={"units": Units.metric()})
        assert given.is_valid()
        assert given.validated_data["mass"].value == 40

    @pytest.mark.parametrize("sent", [40, 40.5, None, [], {}, {"typed": 4}, "40 mm", "x" * 99])
    def test_refuses_the_rest_with_a_sentence(self, sent: Any) -> None:
        given = WeightSerializer(data={"mass": sent})
        assert not given.is_valid()
        assert len(str(given.errors["mass"][0])) > 10

    def test_writes_value_unit_and_text(self) -> None:
        row = SimpleNamespace(mass=Decimal("40.1429247450"), mass_typed="88.5 lb", bare=Decimal(40))
        assert WeightSerializer(row).data == {
            "mass": {"value": "40.142924745", "unit": "kg", "typed": "88.5 lb"},
            "bare": {"value": "40", "unit": "kg", "typed": ""},
        }

    def test_writes_nothing_for_nothing(self) -> None:
        row = SimpleNamespace(mass=None, mass_typed="", bare=None)
        assert WeightSerializer(row).data == {"mass": None, "bare": None}
