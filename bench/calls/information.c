/* information.c: most information for the minute, then mend and prove. */
#include "policy.h"

bool policy_information(Technician *technician, Error *error)
{
    (void)error;
    technician_hand_over(technician);
    return true;
}
