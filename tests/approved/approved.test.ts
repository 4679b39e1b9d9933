// Guards against change that nobody meant: what is answered about small captures is compared with answers that were looked
// through once (answers.txt). That they are true is not shown here; the other tests measure against what was drawn.
//
// Where a change is meant: `npm run approve` prints the answers anew, and the difference is what there is to review.

import { answersTo } from './answers.ts'
import { testApproved } from './approval.ts'
import { APPROVED_CAPTURES } from './captures.ts'

testApproved(new URL('answers.txt', import.meta.url), APPROVED_CAPTURES, answersTo)
