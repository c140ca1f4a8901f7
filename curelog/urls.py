from django.urls import path

from curelog.views import acts, loaf

urlpatterns = [
    path("loaves/<uuid:key>/", loaf.loaf, name="loaf"),
    path("loaves/<uuid:key>/<slug:act>/", acts.act, name="act"),
]

handler403 = "curelog.views.errors.forbidden"
handler404 = "curelog.views.errors.not_found"
handler500 = "curelog.views.errors.failed"
