import datetime

from django.urls import path, register_converter

from catalog.views import bundles, files, hulls, old_prices, prices, rates, types


class DateConverter:
    regex = r"\d{4}-\d{2}-\d{2}"

    def to_python(self, value):
        return datetime.date.fromisoformat(value)

    def to_url(self, value):
        return str(value)


register_converter(DateConverter, "date")

app_name = "catalog"
urlpatterns = [
    path("", types.show_list, name="types"),
    path("types/new/", types.new, name="new_type"),
    path("types/<str:code>/", types.show, name="type"),
    path("types/<str:code>/change/", types.change, name="change_type"),
    path("types/<str:code>/change/<str:section>/", types.change_parts, name="change_parts"),
    path("hulls/", hulls.show_list, name="hull_types"),
    path("hulls/new/", hulls.new, name="new_hull_type"),
    path("hulls/<str:code>/", hulls.show, name="hull_type"),
    path("hulls/<str:code>/change/", hulls.change, name="change_hull_type"),
    path("hulls/<str:code>/stations/", hulls.change_stations, name="change_stations"),
    path("bundles/", bundles.show_list, name="bundles"),
    path("bundles/new/", bundles.new, name="new_bundle"),
    path("bundles/<str:code>/", bundles.show, name="bundle"),
    path("bundles/<str:code>/change/", bundles.change, name="change_bundle"),
    path("files/", files.files, name="files"),
    path("files/<str:kind>.<str:form>", files.export, name="export"),
    path("files/<int:pk>/", files.look, name="look_at_file"),
    path("files/<int:pk>/write/", files.write, name="write_file"),
    path("old-prices/", old_prices.show_list, name="old_prices"),
    path("old-prices.csv", old_prices.table, name="old_prices_table"),
    path("operations/", prices.operations, name="operations"),
    path("operations/new/", prices.new_operation, name="new_operation"),
    path("operations/<str:code>/change/", prices.change_operation, name="change_operation"),
    path("consumables/", prices.consumables, name="consumables"),
    path("consumables/new/", prices.new_consumable, name="new_consumable"),
    path("consumables/<str:code>/change/", prices.change_consumable, name="change_consumable"),
    path("rates/", rates.show_list, name="rates_list"),
    path("rates/new/", rates.new, name="new_rates"),
    path("rates/<date:holds_from>/", rates.show, name="rates"),
    path("rates/<date:holds_from>/change/", rates.change, name="change_rates"),
    path("rates/<date:holds_from>/remove/", rates.remove, name="remove_rates"),
]
