package web

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"damperdesk/internal/book"
	"damperdesk/internal/interval"
	"damperdesk/internal/message"
	"damperdesk/static"
	"damperdesk/templates"
)

// The roles a member of staff may hold.
const (
	desk     = "desk"
	mechanic = "mechanic"
	owner    = "owner"

	// screen is no role: a tablet of the shop where nobody is signed in.
	screen = "screen"
)

type handler func(a *App, w http.ResponseWriter, r *http.Request) error

// row is a row of a table. Without roles it is open to everybody, with anyone
// it is for whoever is signed in.
type row struct {
	method, pattern string
	roles           []string
	handle          handler
}

// route is a row, and whether a sign-in by PIN is not enough for it.
type route struct {
	row
	phrase bool
}

var (
	open   []string
	anyone = []string{desk, mechanic, owner}
	onWall = []string{desk, mechanic, owner, screen}
)

// routes is every address the server answers beside /static/.
var routes = slices.Concat(table(everyday, false), table(guarded, true))

func table(rows []row, phrase bool) []route {
	list := make([]route, len(rows))
	for i, r := range rows {
		list[i] = route{r, phrase}
	}
	return list
}

// everyday are the routes that any sign-in will do for.
var everyday = []row{
	{"GET", "/healthz", open, (*App).healthz},
	{"GET", "/readyz", open, (*App).readyz},
	{"GET", "/live", onWall, (*App).live},

	{"GET", "/c/{token}", open, (*App).customerPage},
	{"POST", "/c/{token}/answer", open, (*App).answerOnPage},
	{"POST", "/c/{token}/way", open, (*App).readInWay},
	{"GET", "/c/{token}/card", open, (*App).customerCard},
	{"GET", "/c/{token}/pickup.ics", open, customerCalendar("pickup.ics", templates.CustomerPage.Pickup)},
	{"GET", "/c/{token}/due.ics", open, customerCalendar("due.ics", templates.CustomerPage.Due)},
	{"GET", "/c/{token}/pictures/{id}", open, customerPicture(full)},
	{"GET", "/c/{token}/pictures/{id}/thumb", open, customerPicture(thumb)},
	{"GET", "/m/{token}", open, (*App).wanted},
	{"POST", "/m/{token}", open, (*App).sayWanted},
	{"GET", "/b/{token}", open, (*App).riderBook},
	{"GET", "/b/{token}/book.json", open, (*App).riderBookFile},
	{"POST", "/b/{token}/hours", open, (*App).sayHoursInBook},
	{"POST", "/b/{token}/hours/back", open, (*App).takeHoursBackInBook},
	{"GET", "/pictures/{id}", anyone, shopPicture(full)},
	{"GET", "/pictures/{id}/thumb", anyone, shopPicture(thumb)},

	{"GET", "/", anyone, (*App).home},
	{"GET", "/board", anyone, (*App).board},
	{"GET", "/board/wall", onWall, (*App).wall},
	{"GET", "/find", anyone, (*App).find},
	{"GET", "/answers", []string{desk, owner}, (*App).answersPage},
	{"GET", "/promises", []string{desk, owner}, (*App).promises},
	{"POST", "/answers/{proposal}/reminded", []string{desk, owner}, (*App).remind},
	{"GET", "/messages", []string{desk, owner}, (*App).outbox},
	{"GET", "/messages/{id}", []string{desk, owner}, (*App).message},
	{"POST", "/messages/{id}/again", []string{desk, owner}, changeMessage("again", theSame(message.Again))},
	{"POST", "/messages/{id}/more", []string{desk, owner}, changeMessage("more", message.OnceMore)},
	{"POST", "/messages/{id}/drop", []string{desk, owner}, changeMessage("drop", theSame(message.Drop))},
	{"POST", "/messages/{id}/told", []string{desk, owner}, changeMessage("told", theSame(message.Tell))},

	{"GET", "/jobs/{id}", anyone, (*App).job},
	{"POST", "/jobs/{id}/move", anyone, changeJob("move", moveJob)},
	{"POST", "/jobs/{id}/assign", anyone, changeJob("assign", assignJob)},
	{"POST", "/jobs/{id}/hold", anyone, changeJob("hold", holdJob)},
	{"POST", "/jobs/{id}/hold-end", anyone, changeJob("hold-end", endHold)},
	{"POST", "/jobs/{id}/pin", anyone, changeJob("pin", pinJob)},
	{"POST", "/jobs/{id}/hand-over", anyone, changeJob("hand-over", handOver)},
	{"POST", "/jobs/{id}/propose", anyone, (*App).proposeWork},
	{"POST", "/jobs/{id}/answer", []string{desk, owner}, changeJob("answer", answerProposal)},
	{"POST", "/jobs/{id}/billed", []string{desk, owner}, changeJob("billed", billProposal)},
	{"GET", "/jobs/{id}/change", []string{desk, owner}, (*App).changeForm},
	{"POST", "/jobs/{id}/change", []string{desk, owner}, (*App).change},
	{"GET", "/jobs/{id}/parts", anyone, (*App).jobParts},
	{"POST", "/jobs/{id}/parts", anyone, (*App).addJobPart},
	{"POST", "/jobs/{id}/parts/tray", anyone, (*App).parkInTray},
	{"GET", "/jobs/{id}/parts/{need}", anyone, (*App).need},
	{"POST", "/jobs/{id}/parts/{need}", anyone, changeNeed("keep", keepNeed)},
	{"POST", "/jobs/{id}/parts/{need}/off", anyone, changeNeed("off", dropNeed)},
	{"POST", "/jobs/{id}/parts/{need}/use", anyone, changeNeed("use", useNeed)},
	{"GET", "/jobs/{id}/services", anyone, (*App).addServiceForm},
	{"POST", "/jobs/{id}/services", anyone, (*App).addService},
	{"GET", "/jobs/{id}/services/off", anyone, (*App).takeOffForm},
	{"POST", "/jobs/{id}/services/off", anyone, (*App).takeOff},
	{"POST", "/jobs/{id}/cancel", []string{desk, owner}, changeJob("cancel", cancelJob)},

	{"GET", "/customers/{id}", anyone, (*App).customerBook},
	{"POST", "/customers/{id}", []string{desk, owner}, (*App).changeCustomer},
	{"POST", "/customers/{id}/messages", []string{desk, owner}, (*App).customerWants},
	{"POST", "/customers/{id}/way", []string{desk, owner}, (*App).customerReads},
	{"GET", "/customers/{id}/merge", []string{desk, owner}, (*App).mergeForm},
	{"POST", "/customers/{id}/merge", []string{desk, owner}, (*App).merge},
	{"POST", "/customers/{id}/part", []string{desk, owner}, (*App).partCustomers},
	{"POST", "/customers/{id}/export", []string{desk, owner}, (*App).export},
	{"GET", "/units/{id}", anyone, (*App).unitBook},
	{"GET", "/units/{id}/sell", []string{desk, owner}, (*App).sellForm},
	{"POST", "/units/{id}/sell", []string{desk, owner}, (*App).sell},
	{"POST", "/units/{id}/hours", anyone, (*App).sayHours},
	{"POST", "/units/{id}/hours/back", anyone, takeBack("ride hours back", "back", "wrong", "hours-back", interval.TakeBack)},
	{"POST", "/units/{id}/put-off", []string{desk, owner}, (*App).putOff},
	{"POST", "/units/{id}/ring-again", []string{desk, owner}, (*App).ringAgain},
	{"POST", "/units/{id}/happened", anyone, (*App).sayHappened},
	{"GET", "/units/{id}/sticker", anyone, (*App).printSticker},
	{"POST", "/units/{id}/link", anyone, (*App).makeBookLink},
	{"POST", "/units/{id}/link/revoke", []string{desk, owner}, (*App).revokeBookLink},
	{"GET", "/units/{id}/book.json", anyone, (*App).unitBookFile},
	{"GET", "/units/read-book", []string{desk, owner}, (*App).readBookForm},
	{"POST", "/units/read-book", []string{desk, owner}, (*App).bringBook},
	{"GET", "/units/read-book/{id}", []string{desk, owner}, (*App).bookPlan},
	{"POST", "/units/read-book/{id}/apply", []string{desk, owner}, (*App).takeBook},
	{"POST", "/units/{id}/book/back", []string{desk, owner}, takeBack("service book back", "book", "which", "book-back", book.TakeBack)},
	{"GET", "/units/{id}/change", anyone, (*App).unitForm},
	{"POST", "/units/{id}/change", anyone, (*App).changeUnit},
	{"GET", "/units/{id}/inside", []string{mechanic, owner}, (*App).inside},
	{"POST", "/units/{id}/inside", []string{mechanic, owner}, insideForm("inside", putInside)},

	{"GET", "/due", []string{desk, owner}, (*App).due},
	{"GET", "/due/invite", []string{desk, owner}, (*App).invitePage},
	{"POST", "/due/invite", []string{desk, owner}, (*App).invite},

	{"GET", "/models", anyone, (*App).models},
	{"GET", "/models/csv", anyone, (*App).library},
	{"GET", "/models/csv/file", anyone, (*App).libraryFile},
	{"GET", "/models/measured", anyone, (*App).fitting},
	{"GET", "/models/{id}", anyone, (*App).model},
	{"GET", "/models/{id}/sheets/{revision}", anyone, (*App).sheetRevision},

	{"GET", "/calculators", anyone, (*App).calculators},
	{"GET", "/calculators/{name}", anyone, (*App).calculate},

	{"GET", "/tools", []string{mechanic, owner}, (*App).tools},
	{"GET", "/tools/{id}", []string{mechanic, owner}, (*App).oneTool},
	{"POST", "/tools/{id}/out", []string{mechanic, owner}, changeTool("out", takeToolOut, (*App).toolPage)},

	{"GET", "/parts", anyone, (*App).parts},
	{"POST", "/parts", anyone, (*App).addPart},
	{"GET", "/parts/new", anyone, (*App).newPart},
	{"GET", "/parts/csv", anyone, (*App).partsFile},
	{"GET", "/parts/import", anyone, (*App).partsImport},
	{"POST", "/parts/import", anyone, (*App).bringParts},
	{"GET", "/parts/import/{id}", anyone, (*App).partsPlan},
	{"POST", "/parts/import/{id}/apply", anyone, takeParts},
	{"GET", "/parts/{id}", anyone, (*App).part},
	{"GET", "/parts/{id}/csv", anyone, (*App).ledgerFile},
	{"GET", "/parts/{id}/label", anyone, (*App).partLabel},
	{"GET", "/parts/{id}/change", anyone, (*App).partForms},
	{"POST", "/parts/{id}/change", anyone, changePart("change", correctPart, (*App).partFormsPage)},
	{"POST", "/parts/{id}/retire", anyone, changePart("retire", retirePart, (*App).partFormsPage)},
	{"POST", "/parts/{id}/return", anyone, changePart("return", returnPart, (*App).partFormsPage)},
	{"POST", "/parts/{id}/source", anyone, (*App).putSource},
	{"POST", "/parts/{id}/receive", anyone, changePart("receive", receivePart, (*App).partPage)},
	{"POST", "/parts/{id}/out", anyone, changePart("out", takeOut, (*App).partPage)},
	{"POST", "/parts/{id}/open", anyone, changePart("open", openBottle, (*App).partPage)},
	{"POST", "/parts/{id}/take-back", anyone, changePart("take-back", takeMoveBack, (*App).partPage)},
	{"GET", "/suppliers", anyone, (*App).suppliers},
	{"POST", "/suppliers", anyone, (*App).addSupplier},
	{"GET", "/suppliers/new", anyone, (*App).newSupplier},
	{"GET", "/suppliers/{id}", anyone, (*App).supplier},
	{"POST", "/suppliers/{id}", anyone, changeSupplier},
	{"GET", "/parts/count", anyone, (*App).counts},
	{"POST", "/parts/count", anyone, (*App).beginCount},
	{"GET", "/parts/count/{id}", anyone, (*App).count},
	{"POST", "/parts/count/{id}/line", anyone, (*App).countLine},
	{"POST", "/parts/count/{id}/drop", anyone, dropCount},
	{"GET", "/parts/count/{id}/differences", []string{owner}, (*App).differences},
	{"POST", "/parts/count/{id}/post", []string{owner}, postCount},
	{"GET", "/parts/waste", anyone, (*App).waste},
	{"POST", "/parts/waste", anyone, wasteForm("log", logWaste)},
	{"POST", "/parts/waste/pickup", anyone, wasteForm("pickup", takeWaste)},
	{"POST", "/parts/waste/back", anyone, wasteForm("back", takeWasteBack)},
	{"GET", "/parts/waste/sheet", anyone, (*App).wasteSheet},
	{"GET", "/parts/waste/file", anyone, (*App).wasteFile},
	{"GET", "/parts/review", []string{owner}, (*App).partsReview},

	{"GET", "/drop-off", []string{desk, owner}, (*App).dropOffForm},
	{"POST", "/drop-off", []string{desk, owner}, (*App).dropOff},
	{"POST", "/drop-off/draft", []string{desk, owner}, (*App).keepDraft},
	{"POST", "/drop-off/draft/throw", []string{desk, owner}, (*App).throwDraft},
	{"POST", "/drop-off/pictures", []string{desk, owner}, (*App).addArriving},
	{"GET", "/drop-off/pictures/{id}", []string{desk, owner}, arrivingPicture(full)},
	{"GET", "/drop-off/pictures/{id}/thumb", []string{desk, owner}, arrivingPicture(thumb)},
	{"GET", "/drop-off/find", []string{desk, owner}, (*App).dropOffFind},
	{"GET", "/drop-off/alike", []string{desk, owner}, (*App).dropOffAlike},
	{"GET", "/drop-off/promise", []string{desk, owner}, (*App).dropOffPromise},
	{"GET", "/visits/{id}", anyone, (*App).visit},
	{"GET", "/visits/{id}/promise", []string{desk, owner}, (*App).promise},
	{"POST", "/visits/{id}/promise", []string{desk, owner}, (*App).movePromise},
	{"GET", "/visits/{id}/bill", anyone, (*App).printBill},
	{"POST", "/visits/{id}/bill/listed", []string{desk, owner}, changeBill("listed", takeListed)},
	{"POST", "/visits/{id}/bill/parts", []string{desk, owner}, changeBill("parts", billParts)},
	{"POST", "/visits/{id}/bill/line", []string{desk, owner}, changeBill("line", addLine)},
	{"POST", "/visits/{id}/bill/line-back", []string{desk, owner}, changeBill("line-back", takeLineBack)},
	{"POST", "/visits/{id}/bill/payment", []string{desk, owner}, changeBill("payment", takePayment)},
	{"POST", "/visits/{id}/bill/payment-back", []string{desk, owner}, changeBill("payment-back", takePaymentBack)},
	{"POST", "/jobs/{id}/why-back", []string{mechanic, owner}, changeJob("why-back", whyBack)},
	{"POST", "/jobs/{id}/authorise", []string{desk, owner}, changeJob("authorise", authorise)},
	{"POST", "/jobs/{id}/mark", anyone, changeJob("mark", addMark)},
	{"POST", "/jobs/{id}/pictures", anyone, (*App).picturesAsItCame},
	{"POST", "/visits/{id}/here", []string{desk, owner}, (*App).comeIn},
	{"POST", "/visits/{id}/rebook", []string{desk, owner}, (*App).rebook},
	{"POST", "/visits/{id}/told", []string{desk, owner}, (*App).tell},
	{"POST", "/visits/{id}/link", []string{desk, owner}, (*App).newLink},
	{"GET", "/tickets/{number}", anyone, (*App).ticket},
	{"GET", "/jobs/{id}/ticket", anyone, (*App).printTicket},
	{"GET", "/jobs/{id}/tag", anyone, (*App).printTag},
	{"GET", "/visits/{id}/tickets", anyone, (*App).printTickets},
	{"GET", "/visits/{id}/receipt", anyone, (*App).printReceipt},
	{"GET", "/codes", anyone, (*App).code},

	{"GET", "/orders", anyone, (*App).orders},
	{"POST", "/orders", anyone, (*App).beginOrder},
	{"GET", "/orders/advice", anyone, (*App).advice},
	{"POST", "/orders/advice", anyone, (*App).takeAdvice},
	{"POST", "/orders/advice/reckon", anyone, (*App).reckonAdvice},
	{"GET", "/orders/season", anyone, (*App).seasonAhead},
	{"GET", "/orders/{id}", anyone, (*App).oneOrder},
	{"GET", "/orders/{id}/print", anyone, (*App).printOrder},
	{"GET", "/orders/{id}/csv", anyone, (*App).orderFile},
	{"POST", "/orders/{id}/line", anyone, changeOrder("line", addOrderLine)},
	{"POST", "/orders/{id}/lines", anyone, changeOrder("lines", changeOrderLines)},
	{"POST", "/orders/{id}/send", []string{desk, owner}, changeOrder("send", sendOrder)},
	{"POST", "/orders/{id}/await", anyone, changeOrder("await", awaitOrder)},
	{"POST", "/orders/{id}/note", anyone, changeOrder("note", noteOrder)},
	{"POST", "/orders/{id}/close", []string{desk, owner}, changeOrder("close", closeOrder)},
	{"GET", "/orders/{id}/receive", anyone, (*App).receiveForm},
	{"POST", "/orders/{id}/receive", anyone, (*App).receive},

	{"GET", "/review", []string{owner}, (*App).review},
	{"POST", "/review/seen", []string{owner}, (*App).seeMishap},

	{"GET", "/setup", open, (*App).setupForm},
	{"POST", "/setup", open, (*App).setup},
	{"GET", "/sign-in", open, (*App).signInForm},
	{"POST", "/sign-in", open, (*App).signIn},
	{"POST", "/sign-in/pin", open, (*App).signInByPIN},
	{"POST", "/sign-out", open, (*App).signOut},
	{"GET", "/me", anyone, (*App).me},
	{"POST", "/me/sign-out-everywhere", anyone, (*App).signOutEverywhere},

	{"GET", "/bench", []string{mechanic, owner}, (*App).bench},
	{"POST", "/jobs/{id}/start", []string{mechanic}, (*App).startJob},
	{"GET", "/bench/{job}", anyone, (*App).benchSheet},
	{"POST", "/bench/{job}/note", []string{mechanic}, onSheet("note", keepNote)},
	{"POST", "/bench/{job}/ready", []string{mechanic}, onSheet("ready", makeReady)},
	{"POST", "/bench/{job}/reopen", []string{mechanic}, onSheet("reopen", reopenSheet)},
	{"GET", "/bench/{job}/checks", anyone, (*App).benchChecks},
	{"POST", "/bench/{job}/checks", []string{mechanic}, (*App).signChecks},
	{"POST", "/bench/{job}/finding", []string{mechanic}, onSheet("finding", addFinding)},
	{"POST", "/bench/{job}/pictures", []string{mechanic}, (*App).addPictures},
	{"POST", "/bench/{job}/pictures/show", []string{mechanic, owner}, (*App).showPicture},
	{"POST", "/bench/{job}/mend", []string{mechanic}, onSheet("mend", mendFinding)},
	{"POST", "/bench/{job}/withdraw", []string{mechanic}, onSheet("withdraw", withdrawFinding)},
	{"GET", "/bench/{job}/steps/{step}", anyone, (*App).benchStep},
	{"POST", "/bench/{job}/steps/{step}/sign", []string{mechanic}, onStep("sign", signStep)},
	{"POST", "/bench/{job}/steps/{step}/together", []string{mechanic}, onStep("together", signTogether)},
	{"POST", "/bench/{job}/steps/{step}/value", []string{mechanic}, onStep("value", giveValue)},
	{"POST", "/bench/{job}/steps/{step}/begin", []string{mechanic}, onStep("begin", beginWait)},
	{"POST", "/bench/{job}/steps/{step}/cross-out", []string{mechanic}, onStep("cross-out", crossOutStep)},
}

// guarded are the routes that decide who may do what, what a torque or a pressure
// is, and who is erased: a PIN that somebody has watched must be of no use there.
var guarded = []row{
	{"GET", "/intervals", []string{owner}, (*App).intervals},
	{"GET", "/intervals/rule", []string{owner}, (*App).intervalForm},
	{"POST", "/intervals", []string{owner}, (*App).setInterval},
	{"POST", "/intervals/counts", []string{owner}, (*App).setFactors},
	{"POST", "/intervals/season", []string{owner}, (*App).setSeason},
	{"GET", "/intervals/event", []string{owner}, (*App).eventRuleForm},
	{"POST", "/intervals/event", []string{owner}, (*App).setEventRule},
	{"POST", "/me/passphrase", anyone, (*App).newPassphrase},
	{"POST", "/me/pin", anyone, (*App).newPIN},
	{"GET", "/shop", []string{owner}, (*App).shop},
	{"GET", "/shop/settings", []string{owner}, (*App).settings},
	{"POST", "/shop/settings", []string{owner}, (*App).saveSettings},
	{"GET", "/shop/hours", []string{owner}, (*App).hours},
	{"POST", "/shop/hours", []string{owner}, (*App).setHours},
	{"POST", "/shop/closures", []string{owner}, (*App).closeShop},
	{"POST", "/shop/closures/remove", []string{owner}, (*App).openShop},
	{"POST", "/shop/holidays", []string{owner}, (*App).setHolidays},
	{"POST", "/shop/holidays/open", []string{owner}, (*App).settleHoliday},
	{"GET", "/shop/rota", []string{owner}, (*App).rota},
	{"POST", "/shop/rota", []string{owner}, changeRota("week", setRota)},
	{"POST", "/shop/absences", []string{owner}, changeRota("away", addAbsence)},
	{"POST", "/shop/absences/remove", []string{owner}, changeRota("back", removeAbsence)},
	{"POST", "/shop/reserve", []string{owner}, changeRota("reserve", setReserve)},
	{"POST", "/shop/sure", []string{owner}, changeRota("sure", setSure)},
	{"POST", "/shop/does", []string{owner}, changeRota("does", setDoes)},
	{"GET", "/shop/shelf", []string{owner}, (*App).shelf},
	{"POST", "/shop/shelf", []string{owner}, (*App).setShelf},
	{"GET", "/shop/messages", []string{owner}, (*App).messages},
	{"POST", "/shop/messages", []string{owner}, (*App).setMessageDays},
	{"GET", "/shop/messages/{kind}", []string{owner}, (*App).words},
	{"POST", "/shop/messages/{kind}", []string{owner}, (*App).setWords},
	{"GET", "/shop/terms", []string{owner}, (*App).terms},
	{"POST", "/shop/terms", []string{owner}, (*App).setTerms},
	{"GET", "/shop/retention", []string{owner}, (*App).retention},
	{"POST", "/shop/retention", []string{owner}, (*App).setRetention},
	{"GET", "/customers/{id}/erase", []string{owner}, (*App).eraseForm},
	{"POST", "/customers/{id}/erase", []string{owner}, (*App).erase},
	{"GET", "/shop/below-zero", []string{owner}, (*App).belowZero},
	{"POST", "/shop/below-zero", []string{owner}, (*App).setBelowZero},
	{"GET", "/messages/setup", []string{owner}, (*App).mailSetup},
	{"POST", "/messages/setup", []string{owner}, (*App).setQuiet},
	{"POST", "/messages/setup/test", []string{owner}, (*App).sendTest},
	{"GET", "/people", []string{owner}, (*App).people},
	{"POST", "/people", []string{owner}, (*App).addPerson},
	{"GET", "/people/{id}", []string{owner}, (*App).somebody},
	{"POST", "/people/{id}/roles", []string{owner}, changePerson("roles", setRoles)},
	{"POST", "/people/{id}/passphrase", []string{owner}, changePerson("passphrase", resetPassphrase)},
	{"POST", "/people/{id}/sign-out", []string{owner}, changePerson("sign-out", signOutPerson)},
	{"POST", "/people/{id}/leave", []string{owner}, changePerson("leave", leave)},
	{"POST", "/people/{id}/return", []string{owner}, changePerson("return", comeBack)},
	{"GET", "/services", []string{owner}, (*App).services},
	{"POST", "/services", []string{owner}, changeServices("prices", setPrices)},
	{"POST", "/services/model", []string{owner}, changeServices("model", setModelPrice)},
	{"POST", "/services/inside", []string{owner}, changeServices("inside", setInside)},
	{"POST", "/services/round", []string{owner}, changeServices("round", setRounding)},
	{"POST", "/services/tax", []string{owner}, changeServices("tax", addTax)},
	{"GET", "/parts/lists", []string{mechanic, owner}, (*App).partsLists},
	{"GET", "/services/{code}/parts", []string{mechanic, owner}, (*App).partsList},
	{"POST", "/services/{code}/parts", []string{mechanic, owner}, (*App).putPartsLine},
	{"POST", "/services/{code}/parts/off", []string{mechanic, owner}, (*App).dropPartsLine},
	{"GET", "/services/times", []string{owner}, (*App).bookTimes},
	{"POST", "/services/times", []string{owner}, changeTimes("times", setTimes)},
	{"POST", "/services/times/model", []string{owner}, changeTimes("model", setModelTime)},
	{"GET", "/services/tax/{code}", []string{owner}, (*App).tax},
	{"POST", "/services/tax/{code}", []string{owner}, (*App).changeTax},
	{"GET", "/procedures", []string{owner}, (*App).procedures},
	{"GET", "/procedures/services/new", []string{owner}, (*App).newService},
	{"POST", "/procedures/services", []string{owner}, (*App).putService},
	{"GET", "/procedures/services/{service}", []string{owner}, (*App).oneService},
	{"POST", "/procedures/services/{service}", []string{owner}, (*App).putService},
	{"GET", "/procedures/{code}", []string{owner}, (*App).block},
	{"POST", "/procedures/{code}/take", []string{owner}, changeBlock("take", takeShipped, "", againBlock)},
	{"GET", "/procedures/{code}/revisions/{revision}", []string{owner}, (*App).blockRevision},
	{"GET", "/procedures/{code}/draft", []string{owner}, (*App).blockDraft},
	{"POST", "/procedures/{code}/draft", []string{owner}, changeBlock("begin", beginBlockDraft, "/draft", againBlock)},
	{"POST", "/procedures/{code}/draft/steps", []string{owner}, changeBlock("steps", changeSteps, "/draft", againDraft)},
	{"GET", "/procedures/{code}/draft/step", []string{owner}, (*App).blockStep},
	{"POST", "/procedures/{code}/draft/step", []string{owner}, (*App).putBlockStep},
	{"GET", "/procedures/{code}/draft/preview", []string{owner}, (*App).blockPreview},
	{"POST", "/procedures/{code}/draft/force", []string{owner}, changeBlock("force", forceDraft, "", againDraft)},
	{"POST", "/procedures/{code}/draft/drop", []string{owner}, changeBlock("drop", dropBlockDraft, "", againDraft)},
	{"GET", "/tablets", []string{owner}, (*App).tablets},
	{"POST", "/tablets", []string{owner}, (*App).enrolTablet},
	{"GET", "/tablets/{id}", []string{owner}, (*App).oneTablet},
	{"POST", "/tablets/{id}/name", []string{owner}, changeTablet("name", renameTablet)},
	{"POST", "/tablets/{id}/revoke", []string{owner}, changeTablet("revoke", revokeTablet)},

	{"POST", "/bench/{job}/steps/{step}/allow", []string{owner}, onStep("allow", allowTool)},
	{"GET", "/tools/limits", []string{owner}, (*App).toolLimits},
	{"POST", "/tools/limits", []string{owner}, (*App).setToolLimit},
	{"GET", "/tools/new", []string{mechanic, owner}, (*App).newTool},
	{"POST", "/tools", []string{mechanic, owner}, (*App).addTool},
	{"GET", "/tools/{id}/change", []string{mechanic, owner}, (*App).toolForms},
	{"POST", "/tools/{id}/change", []string{mechanic, owner}, changeTool("change", correctTool, (*App).toolFormsPage)},
	{"POST", "/tools/{id}/calibration", []string{mechanic, owner}, changeTool("calibration", calibrateTool, (*App).toolFormsPage)},
	{"POST", "/tools/{id}/return", []string{mechanic, owner}, changeTool("return", returnTool, (*App).toolFormsPage)},

	{"GET", "/units/{id}/inside/value", []string{mechanic, owner}, (*App).ownValueForm},
	{"POST", "/units/{id}/inside/value", []string{mechanic, owner}, (*App).putOwnValue},
	{"POST", "/units/{id}/inside/remove", []string{mechanic, owner}, insideForm("remove", removeOwnValue)},

	{"POST", "/models/csv", []string{mechanic, owner}, (*App).bringLibrary},
	{"GET", "/models/csv/{id}", []string{mechanic, owner}, (*App).libraryPlan},
	{"POST", "/models/csv/{id}/apply", []string{mechanic, owner}, takeLibrary},
	{"GET", "/models/new", []string{mechanic, owner}, (*App).newModel},
	{"POST", "/models", []string{mechanic, owner}, (*App).addModel},
	{"GET", "/models/{id}/change", []string{mechanic, owner}, (*App).modelForms},
	{"POST", "/models/{id}/change", []string{mechanic, owner}, changeModel("change", correctModel, toModel("change"))},
	{"POST", "/models/{id}/documents", []string{mechanic, owner}, changeModel("documents", addDocument, toModelForms)},
	{"POST", "/models/{id}/documents/remove", []string{mechanic, owner}, changeModel("documents/remove", removeDocument, toModelForms)},
	{"GET", "/models/{id}/draft", []string{mechanic, owner}, (*App).draft},
	{"POST", "/models/{id}/draft", []string{mechanic, owner}, changeDraft("begin", beginDraft, toDraft("begin"), (*App).draftPage)},
	{"POST", "/models/{id}/draft/drop", []string{mechanic, owner}, changeDraft("drop", dropDraft, toModel("drop"), (*App).draftPage)},
	{"GET", "/models/{id}/draft/value", []string{mechanic, owner}, (*App).valueForm},
	{"POST", "/models/{id}/draft/value", []string{mechanic, owner}, (*App).putValue},
	{"GET", "/models/{id}/draft/chart", []string{mechanic, owner}, (*App).chartForm},
	{"POST", "/models/{id}/draft/chart", []string{mechanic, owner}, (*App).putChart},
	{"POST", "/models/{id}/draft/remove", []string{mechanic, owner}, (*App).removeValue},
	{"GET", "/models/{id}/draft/check", []string{mechanic, owner}, (*App).draftCheck},
	{"POST", "/models/{id}/draft/check", []string{mechanic, owner}, changeDraft("check", checkDraft, toModel("checked"), (*App).draftCheckPage)},
}

// handler puts the table behind what every request passes: a time limit,
// security headers, the cross-origin check and the person signed in.
func (a *App) handler() http.Handler {
	r := chi.NewRouter()
	r.Use(a.throughProxies, a.logged, headers, middleware.GetHead, middleware.Compress(5, "text/html", "text/css", "text/javascript", "image/svg+xml"))
	r.Handle("/static/*", static.Handler())
	guard := http.NewCrossOriginProtection()
	// A mail program may post there for its reader; whoever has the address may.
	guard.AddInsecureBypassPattern("POST /m/{token}")
	for _, rt := range routes {
		h := a.page(rt)
		if a.public {
			h = a.publicPage(rt)
		}
		switch {
		case forCustomers(rt.pattern):
			h = a.byLink(h)
		case a.public && rt.pattern != "/healthz":
			continue
		}
		if rt.pattern != "/live" {
			h = limited(h)
		}
		r.Method(rt.method, rt.pattern, guard.Handler(h))
	}
	r.NotFound(a.nowhere())
	r.MethodNotAllowed(a.nowhere())
	return r
}
