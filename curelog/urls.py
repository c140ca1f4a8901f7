from django.urls import path

from curelog.views import (
    account,
    acts,
    answers,
    erase,
    loaf,
    loaves,
    moulds,
    own_fats,
    people,
    photos,
    pour,
    recipes,
    settings,
    today,
)

urlpatterns = [
    path("", today.today, name="today"),
    path("loaves/", loaves.loaves, name="loaves"),
    path("loaves/<uuid:key>/", loaf.loaf, name="loaf"),
    path("loaves/<uuid:key>/<slug:act>/", acts.act, name="act"),
    path("checks/<uuid:key>/answer/", answers.answer, name="answer"),
    path("facts/<slug:kind>/<uuid:key>/withdraw/", answers.withdraw, name="withdraw"),
    path("photos/<uuid:key>/<slug:rendition>/", photos.picture, name="picture"),
    path("recipes/", recipes.recipes, name="recipes"),
    path("recipes/new/", recipes.recipe_new, name="recipe_new"),
    path("recipes/sums/", recipes.recipe_sums, name="recipe_sums"),
    path("recipes/cure-days/", recipes.recipe_cure_days, name="recipe_cure_days"),
    path("recipes/<int:pk>/", recipes.recipe, name="recipe"),
    path("recipes/<int:pk>/edit/", recipes.recipe_edit, name="recipe_edit"),
    path("recipes/<int:pk>/pour/", pour.recipe_pour, name="recipe_pour"),
    path("recipes/fats/", own_fats.own_fats, name="own_fats"),
    path("recipes/fats/new/", own_fats.own_fat_new, name="own_fat_new"),
    path("recipes/fats/<int:pk>/", own_fats.own_fat, name="own_fat"),
    path("recipes/fats/<int:pk>/retire/", own_fats.own_fat_retire, name="own_fat_retire"),
    path("pour/", pour.choose, name="pour"),
    path("pour/moulds/", moulds.moulds, name="moulds"),
    path("pour/moulds/new/", moulds.mould_new, name="mould_new"),
    path("pour/moulds/<int:pk>/", moulds.mould, name="mould"),
    path("pour/moulds/<int:pk>/retire/", moulds.mould_retire, name="mould_retire"),
    path("sign-in/", account.sign_in, name="sign_in"),
    path("sign-out/", account.sign_out, name="sign_out"),
    path("join/<str:token>/", account.join, name="join"),
    path("workshop/account/", account.account, name="account"),
    path("workshop/account/password/", account.password, name="account_password"),
    path("workshop/account/sign-out-everywhere/", account.sign_out_everywhere, name="sign_out_everywhere"),
    path("workshop/", settings.settings, name="settings"),
    path("workshop/settings/", settings.workshop, name="settings_workshop"),
    path("workshop/scales/", settings.scales, name="scales"),
    path("workshop/scales/<int:pk>/", settings.scale, name="scale"),
    path("workshop/scales/<int:pk>/retire/", settings.retire, name="scale_retire"),
    path("workshop/people/", people.people, name="people"),
    path("workshop/people/<int:pk>/remove/", people.remove, name="person_remove"),
    path("workshop/people/links/<int:pk>/close/", people.withdraw, name="invitation_withdraw"),
    path("workshop/photos/<uuid:key>/erase/", erase.photo, name="photo_erase"),
]

handler400 = "curelog.views.errors.bad_request"
handler403 = "curelog.views.errors.forbidden"
handler404 = "curelog.views.errors.not_found"
handler500 = "curelog.views.errors.failed"
