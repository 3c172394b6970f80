/* Words of tables that are kept as they are in files and translated where they are shown: listed here
 * for the translators. Never compiled. */

/* Wire colours */
N_("black") N_("brown") N_("red") N_("orange") N_("yellow") N_("green") N_("blue") N_("violet")
N_("grey") N_("white") N_("pink") N_("gold") N_("turquoise") N_("silver") N_("green-and-yellow")

/* Genders of contacts */
N_("pins (male)") N_("sockets (female)") N_("genderless") N_("terminal")

/* Stages of the build, and of the meter checks */
N_("Everything but the supply") N_("The supply alone") N_("The controller in, the pack last")
N_("pack alone") N_("before power, switches on") N_("before power, switches off")
N_("stage B, the supply alone, switches on") N_("powered, everything plugged")

/* How grave a finding is */
N_("stop") N_("care") N_("note")

/* How a plug sits in another, where it is not as it should be */
N_("turned") N_("shifted")

/* What a contact is for */
N_("none") N_("plus") N_("minus") N_("pole") N_("signal") N_("pass")

/* What a motor or servo is doing in a state */
N_("idle") N_("free") N_("moving") N_("loaded") N_("stalled")

/* Types of channels */
N_("motor") N_("servo") N_("encoder") N_("digital") N_("analogue") N_("i2c") N_("serial") N_("usb")
