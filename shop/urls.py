from django.contrib import admin
from django.urls import include, path

from shop import views
from shop.running import views as running

urlpatterns = [
    path("", views.home, name="home"),
    path("", include("builds.urls")),
    path("office/catalogue/", include("catalog.urls")),
    path("admin/", admin.site.urls),
    path("", include("shop.accounts.urls")),
    path("sign-in/link/<str:secret>/", views.sign_in_by_link, name="sign_in_link"),
    path("sign-out/", views.sign_out, name="sign_out"),
    path("health/", views.health, name="health"),
    path("office/running/", running.running, name="running"),
    path("help/", running.help_pages, name="help"),
    path("help/<slug:name>/", running.help_page, name="help_page"),
]

handler400 = "shop.views.bad_request"
handler403 = "shop.views.forbidden"
handler404 = "shop.views.not_found"
handler500 = "shop.views.server_error"
