"""Pages of the products."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.return_path import return_path
from clinic.access.rules import allow
from clinic.products.errors import ProductError
from clinic.products.forms import ProductForm
from clinic.products.models import Product
from clinic.products.queries import has_units
from clinic.products.services import save_product

PRODUCTS_PER_PAGE = 50


@allow(Role.OWNER)
@require_GET
def product_list(request):
    page = Paginator(Product.objects.order_by("-is_active", "name"), PRODUCTS_PER_PAGE)
    context = {"page_obj": page.get_page(request.GET.get("page"))}
    return render(request, "products/product_list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def product_create(request):
    """Add a product; `gtin` and `name` of the address are filled in already."""
    known = {name: request.GET[name] for name in ("gtin", "name") if name in request.GET}
    return _product_form(request, Product(), initial=known)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def product_edit(request, pk):
    return _product_form(request, get_object_or_404(Product, pk=pk))


def _product_form(request, product, *, initial=None):
    form = ProductForm(request.POST or None, instance=product, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            save_product(product=form.save(commit=False), actor=request.user)
        except ProductError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{product.name} is saved.")
            return redirect(return_path(request, otherwise=reverse("product-list")))
    stored = Product.objects.filter(pk=product.pk).first() if product.pk else None
    context = {"form": form, "product": stored, "has_units": bool(stored) and has_units(stored)}
    return render(request, "products/product_form.html", context)
