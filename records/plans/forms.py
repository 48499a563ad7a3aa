"""Input about plans. Amounts are typed in mL or units, by the product."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Row, Submit
from django import forms

from clinic.database.form_fields import name_what_is_required, say_bounds
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.products.models import Product
from planning.amounts import AmountError, format_amount, parse_amount
from planning.atlas.regions import MIDLINE_REGIONS, Region
from planning.vocabulary import ProductKind, Side
from records.plans.enums import PlanEnd
from records.plans.models import Plan, PlanLine, PlanStage, PlanTemplate

_WIDE = "field--full"
# For one side of one region: a slip on the keyboard, not a limit.
MOST_PACKS = 20
PLANNED_KINDS = (ProductKind.HA_FILLER, ProductKind.OTHER_FILLER, ProductKind.TOXIN)


def _helper(layout: Layout, submit: str) -> FormHelper:
    helper = FormHelper()
    helper.attrs = {"data-once": ""}
    helper.layout = layout
    helper.add_input(Submit("save", submit))
    return helper


class StartPlanForm(forms.Form):
    title = forms.CharField(
        label="What it treats", max_length=120, help_text="Such as “Cheeks and chin, two sessions”."
    )
    template = forms.ModelChoiceField(
        PlanTemplate.objects.filter(is_active=True),
        required=False,
        empty_label="None: begin empty",
        help_text="Its lines are copied; the template itself stays as it is.",
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = _helper(
            Layout(Field("title", wrapper_class=_WIDE), Field("template", wrapper_class=_WIDE)),
            "Start plan",
        )


class PlanForm(SeenValuesForm):
    class Meta:
        model = Plan
        fields = ["title", "note", "alternatives"]
        widgets = {
            "note": forms.Textarea(attrs={"rows": 3}),
            "alternatives": forms.Textarea(attrs={"rows": 3}),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        fields = [Field(name, wrapper_class=_WIDE) for name in self.fields]
        self.helper = _helper(Layout(SEEN, *fields), "Save")


class EndPlanForm(forms.Form):
    end = forms.ChoiceField(
        label="How it ended", choices=PlanEnd.choices(), widget=forms.RadioSelect
    )
    reason = forms.CharField(
        label="Why", required=False, max_length=300, help_text="Needed when it is given up."
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        fields = [Field(name, wrapper_class=_WIDE) for name in self.fields]
        self.helper = _helper(Layout(*fields), "End this plan")

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("end") == PlanEnd.GIVEN_UP and not cleaned.get("reason", "").strip():
            self.add_error("reason", "Say why the plan is given up.")
        return cleaned

    @property
    def ending(self) -> dict:
        """The arguments of `end_plan`."""
        return {"end": PlanEnd(self.cleaned_data["end"]), "reason": self.cleaned_data["reason"]}


class StageForm(forms.ModelForm):
    class Meta:
        model = PlanStage
        fields = ["weeks_after"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        say_bounds(self)
        self.helper = _helper(Layout(AppendedText("weeks_after", "weeks")), "Save")


class LineForm(SeenValuesForm):
    """One line of a plan; a new one may be written for both sides at once."""

    amount = forms.CharField(
        label="Amount",
        help_text="Of this side, in mL for a filler and in units for a toxin.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    both_sides = forms.BooleanField(
        label="The same on the other side", required=False, help_text="Writes a second line."
    )

    class Meta:
        model = PlanLine
        fields = [
            "region", "side", "product", "plane", "technique", "instrument", "gauge",
            "length_mm", "amount", "note",
        ]  # fmt: skip
        widgets = {"side": forms.RadioSelect, "instrument": forms.RadioSelect}

    def __init__(self, *args, instance, initial=None, **kwargs):
        shown = {"amount": instance.plain_amount if instance.pk else ""} | (initial or {})
        super().__init__(*args, instance=instance, initial=shown, **kwargs)
        line = self.instance
        if line.pk:
            del self.fields["both_sides"]
        self.fields["product"].queryset = plannable(line)
        self.fields["product"].label_from_instance = product_label
        self.fields["product"].empty_label = "Choose"
        regions = [(region.value, region.full_label) for region in Region]
        self.fields["region"].choices = [("", "Choose"), *regions]
        for name in ("side", "instrument"):
            field = self.fields[name]
            field.choices = [choice for choice in field.choices if choice[0]]
        name_what_is_required(self)
        say_bounds(self)
        self.helper = _helper(self._layout(), "Save line")

    def _layout(self) -> Layout:
        both = [Field("both_sides", wrapper_class=_WIDE)] if "both_sides" in self.fields else []
        return Layout(
            SEEN,
            Fieldset("Where", "region", Field("side", wrapper_class="segmented"), *both),
            Fieldset("What", "product", "amount"),
            Fieldset(
                "How",
                "plane",
                "technique",
                Field("instrument", wrapper_class="segmented"),
                Row(AppendedText("gauge", "G"), AppendedText("length_mm", "mm")),
                Field("note", wrapper_class=_WIDE),
            ),
        )

    def clean_side(self):
        side, region = self.cleaned_data["side"], self.cleaned_data.get("region")
        if side == Side.MIDLINE and region and Region(region) not in MIDLINE_REGIONS:
            raise forms.ValidationError("This region comes in pairs: choose left or right.")
        return side

    def clean_amount(self):
        product = self.cleaned_data.get("product")
        if product is None:
            raise forms.ValidationError(
                "Choose the product first: it decides between mL and units."
            )
        try:
            amount = parse_amount(self.cleaned_data["amount"], product.measure)
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error
        most = MOST_PACKS * product.content
        if amount > most:
            raise forms.ValidationError(
                f"{format_amount(amount, product.measure)} is more than {MOST_PACKS} units of "
                f"{product}. Type at most {format_amount(most, product.measure)}."
            )
        return amount

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("both_sides") and cleaned.get("side") == Side.MIDLINE:
            self.add_error("both_sides", "The midline has no other side: choose left or right.")
        return cleaned


def plannable(line: PlanLine | None = None):
    """One pack for each product line in use, and the one that the line has."""
    first: dict[tuple, int] = {}
    for product in Product.objects.in_use().filter(kind__in=PLANNED_KINDS):
        first.setdefault(product.line_key, product.pk)
    if line is not None and line.product_id:
        first[line.product.line_key] = line.product_id
    return Product.objects.filter(pk__in=first.values()).order_by("name")


def product_label(product: Product) -> str:
    """ "Contour filler, hyaluronic acid filler": whatever the pack."""
    return f"{product.line_name} ({product.get_kind_display().lower()})"


class ApplyTemplateForm(forms.Form):
    template = forms.ModelChoiceField(
        PlanTemplate.objects.filter(is_active=True), empty_label="Choose a template"
    )


class TemplateForm(forms.ModelForm):
    class Meta:
        model = PlanTemplate
        fields = ["name", "is_active"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        fields = ["name"] if self.instance.pk is None else ["name", "is_active"]
        for name in set(self.fields) - set(fields):
            del self.fields[name]
        self.helper = _helper(
            Layout(*(Field(name, wrapper_class=_WIDE) for name in fields)), "Save template"
        )
