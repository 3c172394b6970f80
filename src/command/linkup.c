#include "planning/linkup.h"
#include "command.h"
#include "planning/csv.h"

#include <glib/gi18n-lib.h>
#include <math.h>
#include <stdio.h>

static const char *
answer_kind(const LoomLinkupAnswer *answer)
{
  switch (answer->type) {
  case LOOM_ANSWER_PLUG:
    return "plug";
  case LOOM_ANSWER_TURN:
    return "turn";
  case LOOM_ANSWER_MAKE:
    return "make";
  case LOOM_ANSWER_CHAIN:
    break;
  }
  return "chain";
}

/* An answer without pieces is one row whose kind says what to do. */
static void
put_bare_row(LoomCsv *csv, guint rank, const LoomLinkupAnswer *answer)
{
  loom_csv_whole(csv, rank);
  loom_csv_whole(csv, 1);
  loom_csv_text(csv, answer_kind(answer));
  loom_csv_text(csv, answer->sentence);
  loom_csv_text(csv, answer->type == LOOM_ANSWER_TURN ? "yes" : "no");
  loom_csv_number(csv, isinf(answer->rating_A) ? NAN : answer->rating_A);
  loom_csv_number(csv, answer->resistance_ohm);
  loom_csv_text(csv, NULL);
  loom_csv_rounded(csv, answer->price, 2);
  loom_csv_end_row(csv);
}

static void
put_piece_row(LoomCsv *csv, guint rank, guint step, const LoomLinkupPiece *piece)
{
  loom_csv_whole(csv, rank);
  loom_csv_whole(csv, step);
  loom_csv_text(csv, piece->kind->id);
  loom_csv_text(csv, piece->kind->name);
  loom_csv_text(csv, piece->turned ? "yes" : "no");
  loom_csv_number(csv, isinf(piece->rating_A) ? NAN : piece->rating_A);
  loom_csv_number(csv, piece->resistance_ohm);
  loom_csv_text(csv, piece->in_stock ? "yes" : "no");
  loom_csv_rounded(csv, piece->price, 2);
  loom_csv_end_row(csv);
}

static void
print_csv(const LoomLinkup *linkup)
{
  g_autoptr(LoomCsv) csv = loom_csv_new();
  loom_csv_row(csv, "rank", "step", "kind", "description", "turned", "rating_A", "resistance_ohm",
               "in_stock", "price", NULL);
  for (guint i = 0; i < linkup->n_answers; i++) {
    const LoomLinkupAnswer *answer = &linkup->answers[i];
    if (answer->n_pieces == 0)
      put_bare_row(csv, i + 1, answer);
    for (guint k = 0; k < answer->n_pieces; k++)
      put_piece_row(csv, i + 1, k + 1, &answer->pieces[k]);
  }
  fputs(loom_csv_bytes(csv), stdout);
}

static void
print_rating(const LoomLinkupAnswer *answer)
{
  if (isinf(answer->rating_A))
    return;
  if (isnan(answer->current_A))
    printf(_("   It carries %.3g A.\n"), answer->rating_A);
  else
    printf(_("   It carries %.3g A; %.3g A are to flow.\n"), answer->rating_A, answer->current_A);
}

static void
print_sentences(const LoomLinkup *linkup)
{
  if (linkup->why)
    printf("%s\n", linkup->why);
  for (guint i = 0; i < linkup->n_answers; i++) {
    const LoomLinkupAnswer *answer = &linkup->answers[i];
    printf("%u. %s\n", i + 1, answer->sentence);
    print_rating(answer);
    if (answer->caution)
      printf("   %s\n", answer->caution);
    for (guint k = 0; k < answer->n_crimps; k++)
      printf("   - %s\n", answer->crimps[k]);
  }
  if (linkup->nothing)
    printf("%s\n", linkup->nothing);
}

int
command_linkup(const Call *call)
{
  GError *error = NULL;
  LoomLinkupQuestion question = {.current_A = NAN};
  g_autoptr(LoomDesign) design = command_open(call, 0, &error);
  g_autoptr(LoomCatalogue) catalogue = design ? command_catalogue(call, &error) : NULL;
  g_autoptr(LoomStock) stock = catalogue ? command_open_stock(call, &error) : NULL;
  if (!error)
    question.scene = command_scene(call, design, &error);
  if (error ||
      !loom_design_find_end(design, call->words[1], &question.part_a, &question.end_a, &error) ||
      !loom_design_find_end(design, call->words[2], &question.part_b, &question.end_b, &error))
    return command_fail(error);
  g_autoptr(LoomPieces) pieces = loom_pieces_new(catalogue, design);
  g_autoptr(LoomLinkup) linkup = loom_linkup_solved_new(pieces, design, stock, &question);
  if (call->csv)
    print_csv(linkup);
  else
    print_sentences(linkup);
  return 0;
}
