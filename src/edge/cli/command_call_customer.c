/* command_call_customer.c: `ovenwright call customer C`: whose oven it is, apart from the record of the work.
 */
#include "edge/cli/shelf.h"

/* What no option says stays as it is. */
static bool change(const Shelf *shelf, const Invocation *invocation, const char *call,
                   StoreCustomer *customer, Error *error)
{
    const StoreCustomer before = *customer;
    customer->name = cli__option(invocation, OPTION_NAME, customer->name);
    customer->address = cli__option(invocation, OPTION_ADDRESS, customer->address);
    customer->phone = cli__option(invocation, OPTION_PHONE, customer->phone);
    if (customer->name == before.name && customer->address == before.address &&
        customer->phone == before.phone)
        return true;
    customer->is_erased = false;
    return store_set_customer(shelf->store, call, shelf_now(), customer, error);
}

static bool show(Invocation *invocation, const Shelf *shelf, Error *error)
{
    DeskCall found;
    StoreCustomer customer;
    if (!desk_find_call(shelf->store, invocation->arguments[0], shelf->arena, &found, error) ||
        !store_read_customer(shelf->store, found.call, shelf->arena, &customer, error))
        return false;
    if (cli__has_option(invocation, OPTION_ERASE)) {
        if (!store_erase_customer(shelf->store, found.call, shelf_now(), error)) return false;
        text_add(&invocation->out, "erased; the record of the work stays\n");
        return true;
    }
    if (!change(shelf, invocation, found.call, &customer, error)) return false;
    if (customer.is_erased)
        text_add(&invocation->out, "erased\n");
    else
        text_addf(&invocation->out, "name     %s\naddress  %s\nphone    %s\n", customer.name,
                  customer.address, customer.phone);
    return true;
}

bool cli__call_customer(Invocation *invocation, Error *error)
{
    return shelf_do(invocation, false, show, error);
}
