from django.contrib import admin

from shop.models import JournalEntry


@admin.register(JournalEntry)
class JournalAdmin(admin.ModelAdmin):
    list_display = ("number", "at", "actor_name", "action", "subject_name", "why")
    list_filter = ("action", "subject_kind", "at")
    search_fields = ("subject_name", "actor_name", "why")
    list_select_related = True

    def has_add_permission(self, request):
        return False

    def has_change_permission(self, request, obj=None):
        return False

    def has_delete_permission(self, request, obj=None):
        return False
