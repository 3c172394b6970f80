/* Words of the catalogue and of planning that the handout prints in the user's language: listed here
 * for the translators, as those folders know nothing of languages. Never compiled. */

/* Wire colours */
N_("black") N_("brown") N_("red") N_("orange") N_("yellow") N_("green") N_("blue") N_("violet")
N_("grey") N_("white") N_("pink") N_("gold") N_("turquoise") N_("silver") N_("green-and-yellow")

/* Genders of contacts */
N_("pins (male)") N_("sockets (female)") N_("genderless") N_("terminal")

/* Stages of the build, and of the meter checks */
N_("Everything but the supply") N_("The supply alone") N_("The controller in, the pack last")
N_("pack alone") N_("before power, switches on") N_("before power, switches off")
N_("stage B, the supply alone, switches on") N_("powered, everything plugged")
