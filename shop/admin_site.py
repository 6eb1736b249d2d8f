from django.contrib.admin import AdminSite
from django.contrib.auth.decorators import login_not_required
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache

from shop.roles import may


class OfficeAdminSite(AdminSite):
    site_header = "Hullbench, office"
    site_title = "Hullbench"
    index_title = "Everything on record"

    def has_permission(self, request):
        return may(request.user, "enter_admin")

    @method_decorator([never_cache, login_not_required])
    def login(self, request, extra_context=None):
        """There is one way in, and it is the shop's."""
        if request.user.is_authenticated and not self.has_permission(request):
            raise PermissionDenied
        following = request.GET.get("next") or reverse("admin:index")
        return redirect(f"{reverse('sign_in')}?{urlencode({'next': following})}")

    def password_change(self, request, extra_context=None):
        return redirect("my_password")
