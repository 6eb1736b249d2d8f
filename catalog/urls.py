app_name = "catalog"
urlpatterns = []
