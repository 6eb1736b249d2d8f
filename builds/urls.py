app_name = "builds"

urlpatterns = []
