from django.apps import AppConfig
from django.contrib.admin.apps import AdminConfig


class ShopConfig(AppConfig):
    name = "shop"
    verbose_name = "Shop"


class OfficeAdminConfig(AdminConfig):
    """Django's admin, opened to the owner alone."""

    default_site = "shop.admin_site.OfficeAdminSite"
