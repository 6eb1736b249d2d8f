from django.contrib.admin import AdminSite

from shop.roles import may


class OfficeAdminSite(AdminSite):
    site_header = "Hullbench, office"
    site_title = "Hullbench"
    index_title = "Everything on record"

    def has_permission(self, request):
        return may(request.user, "enter_admin")
